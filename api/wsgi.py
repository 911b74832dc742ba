"""The application object for a WSGI server, made from the environment's settings."""

from api.app import create_app
from api.settings import Settings

application = create_app(Settings.from_env())
