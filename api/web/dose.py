"""What a setting does, and what its numbers rest on. Needs no sign-in, touches nothing stored."""

import orjson
from flask import Response, request

from api.dose import evaluate, provenance
from api.dose.schema import DoseRequestSchema
from api.web import auth, limits
from api.web.blueprint import Blueprint, body_of, read_json
from api.web.dose_answers import DoseAnswerSchema, ProvenanceSchema, answer_of

blueprint = Blueprint("dose", __name__, description="What a setting does")


@blueprint.route("/dose", methods=["POST"])
@blueprint.response(200)
@blueprint.doc(
    requestBody=body_of(DoseRequestSchema),
    responses=answer_of(DoseAnswerSchema, "The dose from the set and from the delivered power"),
)
@auth.rule(auth.anyone(limits.DOSE))
def post_dose():
    """Evaluate a dose request."""
    # The engine reads the request itself, so that this answer and the command line's are one.
    answer = evaluate.respond(read_json(request.get_data()))
    # Some hundred numbers, of which the usual writer makes text as slowly as they are worked out.
    return Response(orjson.dumps(answer), mimetype="application/json")


@blueprint.route("/dose/provenance", methods=["GET"])
@blueprint.response(200)
@blueprint.doc(
    responses=answer_of(ProvenanceSchema, "How each formula, constant and source is known")
)
@auth.rule(auth.anyone(limits.PROVENANCE))
def get_provenance():
    """Return what the numbers of a dose, a simulation or a hazard rest on, by formula."""
    return provenance.provenance()
