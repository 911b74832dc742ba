"""Who is asking, and may they: every route declares a rule, and a route without one is closed.

Three ways in. A **tablet** shows a bearer token that it got by signing a nonce. A **person** on a
tablet adds the token that a PIN gave. A **desk** shows a session cookie, and its changes must come
from our own pages.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from flask import Flask, Response, current_app, g, request
from werkzeug.exceptions import LengthRequired, RequestEntityTooLarge
from werkzeug.exceptions import NotFound as NothingThere

from api.errors import BadInput, Conflict, NotAllowed, NotSignedIn
from api.people import emergencies, rights, tablet_tokens, tokens
from api.people import service as people
from api.storage import access, reach
from api.storage.engine import Connection, read, write
from api.web import limits, origin
from api.web.context import context

PERSON_HEADER = "Dosebook-Person"
# Which location a desk's page shows: another tab of the browser may have gone on to another one.
PLACE_HEADER = "Dosebook-Location"
# And whose page it is: in another tab they may have signed out, and somebody else in.
WHO_HEADER = "Dosebook-Signed-In"


@dataclass(frozen=True)
class Rule:
    """What a route asks of its caller.

    ``ways`` are the ways in that are open; empty means that nobody needs to sign in. ``right`` is
    what the person must be allowed to do, or None where being signed in is enough; a tablet alone
    is no person, and where it is let in it is not asked.
    ``sets_cookie`` marks what a browser's page, and only ours, may send without a session, as the
    sign-in. ``limit`` is how often one may ask, where that is counted. A route with
    ``revoked_too`` decides by itself what it takes from a revoked tablet. ``takes`` is what kind of
    body it reads, and ``limit_bytes`` how long one may be, where that is not the application's
    limit.
    """

    ways: frozenset[str] = field(default_factory=frozenset)
    right: str | None = None
    sets_cookie: bool = False
    revoked_too: bool = False
    takes: str = "application/json"
    limit_bytes: int | None = None
    limit: limits.Limit | None = None


ANYONE = Rule()
DESK_SIGN_IN = Rule(sets_cookie=True, limit=limits.PASSWORD)
LINK = Rule(sets_cookie=True, limit=limits.LINK)
TABLET = Rule(frozenset({"tablet"}))
TABLET_SIGN_IN = Rule(frozenset({"tablet"}), limit=limits.PIN)
ANY_TABLET = Rule(frozenset({"tablet"}), revoked_too=True)
DESK = Rule(frozenset({"desk"}))
PERSON = Rule(frozenset({"desk", "person"}))


def anyone(
    limit: limits.Limit, *, limit_bytes: int | None = None, takes: str = "application/json"
) -> Rule:
    """Return the rule: nobody need sign in, but nobody asks too often, nor at too great length."""
    return Rule(limit=limit, limit_bytes=limit_bytes, takes=takes)


def desk(right: str) -> Rule:
    """Return the rule: a person at a desk with ``right``."""
    return Rule(frozenset({"desk"}), right)


def person(right: str) -> Rule:
    """Return the rule: a person with ``right``, at a desk or on a tablet."""
    return Rule(frozenset({"desk", "person"}), right)


def handed_in(*, takes: str, limit_bytes: int, right_at_desk: str | None = None) -> Rule:
    """Return the rule: what a tablet alone hands in, a body of another kind than JSON.

    With ``right_at_desk`` a person who has that right may do so at a desk, too.
    """
    return Rule(
        frozenset({"tablet"} if right_at_desk is None else {"tablet", "desk"}),
        right_at_desk,
        revoked_too=True,
        takes=takes,
        limit_bytes=limit_bytes,
    )


@dataclass(frozen=True, kw_only=True)
class Caller:
    """Who is asking, once established."""

    way: str
    location_id: str
    tablet_id: str | None = None
    person_id: str | None = None
    roles: tuple[str, ...] = ()
    person: Mapping | None = None
    expires_at: str | None = None
    used_at: str | None = None
    # The tablet's row, where one is asking.
    tablet: Mapping | None = None


def rule(wanted: Rule) -> Callable:
    """Declare the rule of a view; it travels with the function through later decorators."""

    def mark(view: Callable) -> Callable:
        view.access_rule = wanted
        return view

    return mark


def caller() -> Caller:
    """Return who is asking; only in a view whose rule asks for somebody."""
    return g.caller


def demand(who: Caller, right: str) -> None:
    """Raise ``NotAllowed`` unless ``who`` has ``right``; a refusal goes into the access log."""
    if rights.allowed(who.roles, right) or _in_emergency(who, right):
        return
    _note_refusal(who, {"right": right})
    raise NotAllowed("not_allowed", "Your role does not include this.", right=right)


def _in_emergency(who: Caller, right: str) -> bool:
    """Return whether an emergency opens this; only at a desk, and never without a trace."""
    if who.way != "desk":
        return False
    now = context().clock.now()
    with read(context().engine, locations=(who.location_id,)) as connection:
        if not emergencies.allows(connection, who.location_id, who.person_id, right, now):
            return False
    with write(context().engine, locations=(who.location_id,)) as connection:
        access.note(
            connection,
            location_id=who.location_id,
            at=now,
            action="emergency",
            actor_id=who.person_id,
            detail={"right": right, "route": f"{request.method} {request.url_rule}"},
        )
    return True


def _note_refusal(who: Caller, detail: Mapping) -> None:
    with write(context().engine, locations=(who.location_id,)) as connection:
        access.note(
            connection,
            location_id=who.location_id,
            at=context().clock.now(),
            action="refused",
            actor_id=who.person_id,
            tablet_id=who.tablet_id,
            detail={**detail, "route": f"{request.method} {request.url_rule}"},
        )


def cookie_name() -> str:
    """Return the session cookie's name; the prefix binds it to this host where there is TLS."""
    return "__Host-dosebook" if context().settings.secure_cookies else "dosebook_desk"


def set_cookie(response: Response, token: str) -> None:
    """Give the browser its session; it forgets it when it closes."""
    response.set_cookie(
        cookie_name(),
        token,
        httponly=True,
        samesite="Strict",
        secure=context().settings.secure_cookies,
        path="/",
    )


def session_token() -> str | None:
    """Return the token of the person's session that this request is made with, if any."""
    return request.headers.get(PERSON_HEADER) or request.cookies.get(cookie_name())


def clear_cookie(response: Response) -> None:
    """Take the session back from the browser."""
    response.delete_cookie(
        cookie_name(),
        httponly=True,
        samesite="Strict",
        secure=context().settings.secure_cookies,
        path="/",
    )


def install(app: Flask, *, body_limit_bytes: int) -> None:
    """Guard every route of ``app`` before its view, and before its body is read."""

    serve = app.wsgi_app

    def within_nowhere(environ, start_response):
        # What a request may reach ends with it; the next one on this thread starts with nothing.
        with reach.within():
            return serve(environ, start_response)

    app.wsgi_app = within_nowhere
    # Else an address with two strokes is answered by a redirection, to wherever the request's own
    # Host says, and with http where a proxy ends TLS. Of one that is not ours nothing is made.
    app.url_map.merge_slashes = False
    app.url_map.redirect_defaults = False

    @app.before_request
    def guard() -> None:
        if request.endpoint is None:
            return
        view = current_app.view_functions[request.endpoint]
        wanted: Rule | None = getattr(view, "access_rule", None)
        if wanted is None:
            raise NotAllowed("no_rule", "Nobody may use this address.")
        by_cookie = "desk" in wanted.ways and "Authorization" not in request.headers
        origin.check(must_be_stated=wanted.sets_cookie or by_cookie)
        if wanted.limit is not None and not wanted.limit.by_tablet:
            limits.check(wanted.limit, tablet_id=None)
        if wanted.ways:
            g.caller = _establish(wanted)
            reach.enter((g.caller.location_id,))
            _check_who(g.caller)
            _check_place(g.caller)
        else:
            # Nobody is known: a code, a nonce or a name that is shown leads to a location.
            reach.enter(reach.EVERYWHERE)
        if wanted.limit is not None and wanted.limit.by_tablet:
            limits.check(wanted.limit, tablet_id=g.caller.tablet_id)
        if wanted.ways and g.caller.way == "desk":
            house = context()
            tokens.note_use(
                house.engine,
                token=request.cookies[cookie_name()],
                used_at=g.caller.used_at,
                now=house.clock.now(),
            )
        if wanted.right is not None and g.caller.way != "tablet":
            demand(g.caller, wanted.right)
        if any("\x00" in str(value) for value in (request.view_args or {}).values()):
            # No id has this sign, and PostgreSQL takes no text that does.
            raise NothingThere
        if "Transfer-Encoding" in request.headers:
            # A body without a stated length would be cut at the limit without a word.
            raise LengthRequired
        limit_bytes = wanted.limit_bytes or body_limit_bytes
        request.max_content_length = limit_bytes
        if (request.content_length or 0) > limit_bytes:
            raise RequestEntityTooLarge
        if request.content_length:
            _check_kind(wanted)


def _check_place(who: Caller) -> None:
    """Refuse what a page asks that was made for another location than its session is at now."""
    if who.way == "desk" and request.headers.get(PLACE_HEADER, who.location_id) != who.location_id:
        raise Conflict(
            "location_changed", "This browser has gone on to another location. Load the page again."
        )


def _check_who(who: Caller) -> None:
    """Refuse what the page of one person asks once another is signed in at the same browser."""
    if who.way == "desk" and request.headers.get(WHO_HEADER, who.person_id) != who.person_id:
        raise Conflict(
            "person_changed", "Somebody else has signed in at this browser. Load the page again."
        )


def _check_kind(wanted: Rule) -> None:
    if wanted.takes == "application/json":
        if not request.is_json:
            raise BadInput("not_json", "The body must be JSON, sent as application/json.")
    elif request.mimetype != wanted.takes:
        raise BadInput("wrong_media_type", f"The body must be sent as {wanted.takes}.")


def _establish(wanted: Rule) -> Caller:
    # A token is looked up everywhere; from where it belongs on, nothing else is in reach.
    with read(context().engine, locations=reach.EVERYWHERE) as connection:
        if "Authorization" in request.headers:
            tablet = _tablet(connection, wanted)
        elif "desk" in wanted.ways:
            return _at_desk(connection)
        else:
            raise NotSignedIn("not_signed_in", "Please sign in.")
    if not wanted.revoked_too:
        _refuse_shut_out(tablet)
    if "tablet" in wanted.ways:
        return tablet
    with read(context().engine, locations=(tablet.location_id,)) as connection:
        return person_on(connection, tablet)


def _refuse_shut_out(tablet: Caller) -> None:
    """Refuse, and write down, what a tablet asks that may only hand in."""
    if tablet.tablet["revoked_at"] is not None:
        problem = NotAllowed("tablet_revoked", "This tablet was revoked.")
    elif tablet.tablet["unconfirmed"]:
        problem = NotAllowed(
            "tablet_unconfirmed", "An administrator has to confirm this tablet first."
        )
    else:
        return
    _note_refusal(tablet, {"because": problem.code})
    raise problem


def _tablet(connection: Connection, wanted: Rule) -> Caller:
    scheme, _, token = request.headers["Authorization"].partition(" ")
    if scheme.lower() != "bearer" or wanted.ways.isdisjoint({"tablet", "person"}):
        raise NotSignedIn("not_signed_in", "Please sign in.")
    row = tablet_tokens.by_token(connection, token.strip(), now=context().clock.now())
    return Caller(
        way="tablet", location_id=row["location_id"], tablet_id=row["tablet_id"], tablet=row
    )


def person_on(connection: Connection, tablet: Caller) -> Caller:
    """Return the person signed in on a tablet. Raises ``NotSignedIn`` when there is none."""
    token = request.headers.get(PERSON_HEADER)
    if not token:
        raise NotSignedIn("person_needed", "Somebody has to sign in on this tablet.")
    found = people.person_on_tablet(
        connection, token, tablet_id=tablet.tablet_id, now=context().clock.now()
    )
    if found["location_id"] != tablet.location_id:
        raise NotSignedIn("not_signed_in", "Please sign in.")
    return _with_person(found, way="person", tablet_id=tablet.tablet_id)


def _at_desk(connection: Connection) -> Caller:
    token = request.cookies.get(cookie_name())
    if not token:
        raise NotSignedIn("not_signed_in", "Please sign in.")
    found = people.desk_session(connection, token, now=context().clock.now())
    return _with_person(found, way="desk")


def _with_person(found: Mapping, *, way: str, tablet_id: str | None = None) -> Caller:
    return Caller(
        way=way,
        location_id=found["location_id"],
        tablet_id=tablet_id,
        person_id=found["person"]["person_id"],
        roles=tuple(found["roles"]),
        person=found["person"],
        expires_at=found["expires_at"],
        used_at=found["used_at"],
    )
