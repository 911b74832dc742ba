"""POST hazard: who needs eyewear, how far, how strong. Needs no sign-in, touches nothing."""

from flask import request

from api.dose.hazard import evaluate
from api.dose.hazard.schema import HazardRequestSchema
from api.web import auth, limits
from api.web.blueprint import Blueprint, body_of, read_json

blueprint = Blueprint("hazard", __name__, description="How far and how strong a hazard is")


@blueprint.route("/hazard", methods=["POST"])
@blueprint.response(200, description="Exposure limits, hazard distances and eyewear")
@blueprint.doc(requestBody=body_of(HazardRequestSchema))
@auth.rule(auth.anyone(limits.DOSE))
def post_hazard():
    """Evaluate a hazard request."""
    # The engine reads the request itself, so that this answer and the command line's are one.
    return evaluate.respond(read_json(request.get_data()))
