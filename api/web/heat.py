"""POST heat: a simulation below one place of the surface. No sign-in; touches nothing stored."""

from flask import request

from api.dose import heat
from api.dose.schema import HeatRequestSchema
from api.web import auth, limits
from api.web.blueprint import Blueprint, body_of, read_json
from api.web.dose_answers import HeatAnswerSchema, answer_of

blueprint = Blueprint("heat", __name__, description="A simulation of heat in soft tissue")


@blueprint.route("/heat", methods=["POST"])
@blueprint.response(200)
@blueprint.doc(
    requestBody=body_of(HeatRequestSchema),
    responses=answer_of(
        HeatAnswerSchema, "Temperature and damage over time and depth, removed depth"
    ),
)
@auth.rule(auth.anyone(limits.HEAT))
def post_heat():
    """Simulate the heat of a dose request."""
    return heat.respond(read_json(request.get_data()))
