"""From a draft as typed to an issued plan: reading, checking, words, versions. Never Flask."""
