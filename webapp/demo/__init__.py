"""Saltmarsh Lane Rehab: an invented practice, with invented people, units and histories, for trying things out."""
