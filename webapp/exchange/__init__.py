"""What phones send home and the receipts that they get."""

from flask import Blueprint

blueprint = Blueprint("exchange", __name__)

from webapp.exchange import sync as sync  # noqa: E402 - its views register on the blueprint
