"""The one place where the parts are put together."""

import os
from collections.abc import Callable
from datetime import datetime
from importlib.metadata import version
from types import MappingProxyType

from flask import Flask
from werkzeug.middleware.proxy_fix import ProxyFix

from api.clock import Clock, SystemClock
from api.devices import optics
from api.devices import project as devices
from api.devices import service as device_service
from api.group import offers
from api.people import alarms, emergencies, project_location, project_tablets, rights, work
from api.people import project as people
from api.presets import project as presets
from api.records import erasure, preset_flags, service_flags
from api.records import project as records
from api.registers import project as registers
from api.registers import upkeep_project as upkeep
from api.safety import device_checks, rooms
from api.safety import project as safety
from api.settings import API_PREFIX, Settings
from api.storage import documents
from api.storage.engine import Connection, open_engine
from api.sync import aside, server_key
from api.sync.judge import OfWhole, Projector
from api.web import (
    access_log,
    attachments,
    auth,
    backups,
    certificates,
    chart,
    commands,
    context,
    dose,
    exposed,
    group,
    group_offers,
    group_photographs,
    group_restore,
    hazard,
    headers,
    health,
    heat,
    house,
    links,
    locations,
    me,
    openapi,
    people_elsewhere,
    places,
    pwa,
    replication,
    rollouts,
    session,
    sessions,
    sync,
    tablet_admin,
    tablets,
    witness,
)
from api.web import aside as aside_web
from api.web import emergencies as emergencies_web
from api.web import erasure as erasure_web
from api.web import people as people_web
from api.web import presets as presets_web
from api.web import records as records_web

BODY_LIMIT_BYTES = 1 << 20


def _project_preset(connection: Connection, entry: dict) -> None:
    presets.project(connection, entry)
    preset_flags.preset_changed(connection, entry)
    offers.published(connection, entry)


def _project_list(connection: Connection, entry: dict) -> None:
    safety.project(connection, entry)
    offers.published(connection, entry)


def _changing_service(project: Projector | None) -> Projector:
    """Return ``project`` with what follows of it for a laser's service and for its records."""

    def projector(connection: Connection, entry: dict) -> None:
        # A laser may be registered under several ids, and under others than before.
        ids = device_service.concerned(connection, entry)
        if project is not None:
            project(connection, entry)
        ids = list(dict.fromkeys([*ids, *device_service.concerned(connection, entry)]))
        location_id, kind = entry["location_id"], device_service.KIND
        before = {one: documents.get(connection, location_id, kind, one) for one in ids}
        device_service.follow(connection, entry, ids)
        for device_id in ids:
            service_flags.service_changed(connection, entry, device_id, before[device_id])

    return projector


def _project_aside(connection: Connection, entry: dict) -> None:
    # What was put aside is of any subject.
    aside.project(connection, entry, PROJECTORS)


# Which subject keeps which type of event up to date.
PROJECTORS = MappingProxyType(
    {
        event_type: subject.project
        for subject in (
            people,
            alarms,
            emergencies,
            project_location,
            project_tablets,
            devices,
            optics,
            presets,
            safety,
            device_checks,
            rooms,
            registers,
            upkeep,
            offers,
            erasure,
        )
        for event_type in subject.EVENT_TYPES
    }
    | dict.fromkeys(("preset.published", "preset.withdrawn"), _project_preset)
    | {"list.published": _project_list}
    | dict.fromkeys(records.EVENT_TYPES, OfWhole(records.project_all, records.foresee))
    | {name: _changing_service(None) for name in device_service.SAID}
    | {
        "device.registered": _changing_service(devices.project),
        "verification.recorded": _changing_service(devices.project),
        "device.checked": _changing_service(device_checks.project),
        "handpiece.retired": _changing_service(registers.project),
    }
    | dict.fromkeys(("aside.released", "aside.rejected"), _project_aside)
)
# Made by the server itself, together with what they say: by nobody else, and by no command.
SERVER_ONLY = frozenset(
    {
        "location.opened",
        "log.restored",
        "emergency.opened",
        "tablet.enrolled",
        "tablet.renamed",
        "tablet.revoked",
        "witness.alarmed",
        "rollout.made",
        "list.offered",
        "preset.offered",
        "erasure.asked",
        "erasure.declined",
        "retention.erased",
        "aside.released",
        "aside.rejected",
    }
)

_BLUEPRINTS = (
    health,
    dose,
    hazard,
    heat,
    tablets,
    tablet_admin,
    backups,
    aside_web,
    session,
    sessions,
    me,
    links,
    sync,
    witness,
    commands,
    records_web,
    erasure_web,
    attachments,
    certificates,
    chart,
    emergencies_web,
    house,
    people_web,
    people_elsewhere,
    locations,
    places,
    presets_web,
    access_log,
    exposed,
    group,
    group_offers,
    group_photographs,
    group_restore,
    replication,
    rollouts,
)


def authorise(
    connection: Connection,
    location_id: str,
    actor_id: str | None,
    event_type: str,
    made_at: datetime,
    *,
    people: dict[str, dict | None] | None = None,
) -> str | None:
    """Return None when ``actor_id`` might make an event of this type there, else the reason.

    What somebody recorded before they left counts, whenever their tablet hands it in. Whoever asks
    about many events, none of which changes a person, hands in ``people`` to keep who was read.
    """
    if event_type in SERVER_ONLY:
        return "server_only"
    if actor_id is None:
        return "actor_missing"
    people = {} if people is None else people
    if actor_id not in people:
        people[actor_id] = work.person_document(connection, location_id, actor_id)
    person = people[actor_id]
    if person is None:
        return "actor_unknown"
    roles = work.roles_at(connection, location_id, person, made_at)
    if rights.may_write(roles, event_type):
        return None
    right = rights.EVENT_RIGHTS.get(event_type, "")
    if emergencies.allows(connection, location_id, actor_id, right, made_at):
        return None
    return "actor_left" if person.get("left_at") and not roles else "actor_not_allowed"


def create_app(
    settings: Settings,
    clock: Clock | None = None,
    random: Callable[[int], bytes] = os.urandom,
) -> Flask:
    """Return the application: the interface under ``/api/v1`` and the built pages beside it.

    The database must have been brought up to date; the pages need not be built yet.
    """
    app = Flask("dosebook", static_folder=None)
    app.config.update(
        MAX_CONTENT_LENGTH=BODY_LIMIT_BYTES,
        PROVIDE_AUTOMATIC_OPTIONS=False,
        API_TITLE="Dosebook",
        API_VERSION=version("dosebook"),
        OPENAPI_VERSION="3.0.3",
    )
    app.json.ensure_ascii = False
    app.json.sort_keys = False
    # Neither reaches any location by itself: each request says which.
    engine, read_url = open_engine(settings.database_url), settings.database_read_url
    context.install(
        app,
        context.Context(
            settings=settings,
            engine=engine,
            report_engine=open_engine(read_url) if read_url else engine,
            clock=clock or SystemClock(),
            random=random,
            server_key=server_key.load_or_create(settings.server_key_path),
            projectors=PROJECTORS,
            authorise=authorise,
        ),
    )
    if settings.proxies:
        # Only what our own proxies say about who asks is believed, and as many as there are.
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=settings.proxies, x_proto=0, x_host=0)
    headers.install(app)
    auth.install(app, body_limit_bytes=BODY_LIMIT_BYTES)
    api = openapi.Interface(app)
    app.extensions["dosebook-api"] = api
    for part in _BLUEPRINTS:
        api.register_blueprint(part.blueprint, url_prefix=API_PREFIX)
    pwa.install(app)
    return app
