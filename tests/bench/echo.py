"""What the dose requests are measured against: flask-smorest giving back what it was sent."""

import marshmallow as ma
from flask import Flask
from flask_smorest import Api, Blueprint

blueprint = Blueprint("echo", __name__)


class Anything(ma.Schema):
    """Any object."""

    class Meta:
        unknown = ma.INCLUDE


@blueprint.route("/dose", methods=["POST"])
@blueprint.arguments(Anything)
@blueprint.response(200)
def post_dose(body: dict[str, object]) -> dict[str, object]:
    return body


application = Flask(__name__)
application.config.update(API_TITLE="Echo", API_VERSION="1", OPENAPI_VERSION="3.1.0")
Api(application).register_blueprint(blueprint, url_prefix="/api/v1")
