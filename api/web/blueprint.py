"""The blueprint all routes are made with: strict reading of bodies, plain registration."""

import json
from functools import partial

import marshmallow as ma
from flask_smorest import Blueprint as SmorestBlueprint
from webargs.flaskparser import FlaskParser

from api.errors import BadInput
from api.events import parse


def read_json(raw: bytes) -> dict[str, object]:
    """Read the one JSON object that a request's body is, as strictly as the log reads events.

    Raises ``BadInput``: code ``unreadable_json`` where it is not JSON at all, ``invalid`` where
    it is but means nothing here (not an object, NaN, a key given twice, nested too deeply).
    """
    try:
        text = raw.decode("utf-8")
        return parse.read_object(text)
    except UnicodeDecodeError as problem:
        raise BadInput("unreadable_json", "The body is not UTF-8.") from problem
    except parse.Unreadable as problem:
        if not _is_json_for_python(text):
            raise BadInput("unreadable_json", "The body is not JSON.") from problem
        raise BadInput(
            "invalid",
            "The body must be one object, without NaN or infinities, no key twice, nested at "
            "most 20 deep.",
            field="body",
        ) from problem


def _is_json_for_python(text: str) -> bool:
    try:
        json.loads(text)
    except RecursionError:
        return True
    except ValueError:
        return False
    return True


class StrictParser(FlaskParser):
    """Reads a body as strictly as :func:`read_json`; an unknown query parameter is refused."""

    DEFAULT_UNKNOWN_BY_LOCATION = FlaskParser.DEFAULT_UNKNOWN_BY_LOCATION | {"query": "raise"}

    def _raw_load_json(self, req):
        return read_json(req.get_data(cache=True))


class Blueprint(SmorestBlueprint):
    """A flask-smorest blueprint with the strict parser, described when somebody asks."""

    ARGUMENTS_PARSER = StrictParser()

    def register_views_in_doc(self, api, *args, **kwargs):
        api.describe_later(partial(super().register_views_in_doc, api, *args, **kwargs))


def words(*, required: bool = False, at_most: int) -> ma.fields.String:
    """Return a field for a text that is neither empty nor longer than ``at_most`` characters."""
    return ma.fields.String(required=required, validate=ma.validate.Length(min=1, max=at_most))


def body_of(schema: type[ma.Schema]) -> dict:
    """Return the description of a body that the view reads by itself, for ``Blueprint.doc``."""
    return {"required": True, "content": {"application/json": {"schema": schema}}}
