"""POST dose: what a setting does. Needs no sign-in and touches nothing stored."""

from flask import request

from api.dose import evaluate
from api.dose.schema import DoseRequestSchema
from api.web import auth
from api.web.blueprint import Blueprint, body_of, read_json
from api.web.dose_answers import DoseAnswerSchema, answer_of

blueprint = Blueprint("dose", __name__, description="What a setting does")


@blueprint.route("/dose", methods=["POST"])
@blueprint.response(200)
@blueprint.doc(
    requestBody=body_of(DoseRequestSchema),
    responses=answer_of(DoseAnswerSchema, "The dose from the set and from the delivered power"),
)
@auth.rule(auth.ANYONE)
def post_dose():
    """Evaluate a dose request."""
    # The engine reads the request itself, so that this answer and the command line's are one.
    return evaluate.respond(read_json(request.get_data()))
