"""The therapist's pages, all under /clinic."""

from flask import Blueprint

blueprint = Blueprint("therapist", __name__, url_prefix="/clinic")

# one line for each module of views; they hang their views on the blueprint above
from webapp.therapist import sign_in  # noqa: E402, F401, I001
from webapp.therapist import clients  # noqa: E402, F401
from webapp.therapist import clinic  # noqa: E402, F401
from webapp.therapist import people  # noqa: E402, F401
from webapp.therapist import sources_page  # noqa: E402, F401
from webapp.therapist import stimulators  # noqa: E402, F401
from webapp.therapist import measuring  # noqa: E402, F401
from webapp.therapist import caseload  # noqa: E402, F401
from webapp.therapist import review  # noqa: E402, F401
from webapp.therapist import what_if  # noqa: E402, F401
from webapp.therapist import holding  # noqa: E402, F401
from webapp.therapist import rest  # noqa: E402, F401
from webapp.therapist import thresholds  # noqa: E402, F401
from webapp.therapist import plan  # noqa: E402, F401
from webapp.therapist import plan_words  # noqa: E402, F401
from webapp.therapist import pads_shown  # noqa: E402, F401
from webapp.therapist import plan_beside  # noqa: E402, F401
from webapp.therapist import compare  # noqa: E402, F401
from webapp.therapist import equipment  # noqa: E402, F401
from webapp.therapist import plan_photo  # noqa: E402, F401
from webapp.therapist import issue  # noqa: E402, F401
from webapp.therapist import links  # noqa: E402, F401
from webapp.therapist import screening  # noqa: E402, F401
from webapp.therapist import teach_back  # noqa: E402, F401
from webapp.therapist import before_home  # noqa: E402, F401
from webapp.therapist import trail  # noqa: E402, F401
from webapp.therapist import sheet  # noqa: E402, F401
from webapp.therapist import sides  # noqa: E402, F401
from webapp.therapist import returns  # noqa: E402, F401
from webapp.therapist import paper  # noqa: E402, F401
from webapp.therapist import paper_line  # noqa: E402, F401
from webapp.therapist import goals  # noqa: E402, F401
from webapp.therapist import measures  # noqa: E402, F401
from webapp.therapist import report  # noqa: E402, F401
from webapp.therapist import files  # noqa: E402, F401
from webapp.therapist import erasure  # noqa: E402, F401
