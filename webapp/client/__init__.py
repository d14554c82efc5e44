"""The phone's side: getting in, the pack and its pages, the worker."""

from flask import Blueprint

blueprint = Blueprint("client", __name__)

from webapp.client import join as join  # noqa: E402 - their views register on the blueprint
from webapp.client import listen as listen  # noqa: E402
from webapp.client import my as my  # noqa: E402
from webapp.client import preview as preview  # noqa: E402
from webapp.client import rehearsing as rehearsing  # noqa: E402
from webapp.client import worker as worker  # noqa: E402
