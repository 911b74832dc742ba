"""A practice whose server and backups are lost gets its log back from the group that follows it.

The group's code lets nobody in by itself: the practice's own key lies there sealed to the recovery
key, and entries are given only for requests that are signed with it. What comes is checked entry
by entry, projected, verified whole, and begun as a new epoch; the tablets then bring the rest.
"""

import base64
import json
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from datetime import UTC
from pathlib import Path

from api.backup import (
    checking,
    erasures,
    from_group_photographs,
    group_key,
    holding,
    keys,
    recovery_key,
    restoring,
    targets,
)
from api.clock import Clock, rfc3339
from api.errors import Conflict, DomainError
from api.events import chain, signing
from api.group import arrival, entries, giving, link, words
from api.group.client import Client, Refused, Send
from api.group.joined import split_code
from api.ids import new_id
from api.people import secrets
from api.settings import Settings
from api.storage import accounts, after_restore, documents, event_store, followed, readers
from api.storage.engine import EVERYWHERE, Connection, Engine, open_engine, write
from api.sync import desk, judge, rebuild, server_key

Random = Callable[[int], bytes]


def restore(
    settings: Settings,
    clock: Clock,
    random: Random,
    *,
    send: Send,
    address: str,
    code: str,
    who: str,
    why: str,
    replace: bool,
    ask_recovery_key: Callable[[], str],
    projectors: judge.Projectors,
    progress: checking.Progress | None = None,
    erased_in: Iterable[Path] = (),
) -> dict:
    """Make the practice anew in the place that ``settings`` name, from what the group holds.

    A database that is there is set aside under ``replace`` and never removed. What was erased and
    the group never heard of is erased again, by the lists in the data folder and in ``erased_in``.
    Returns {name, locations: [{location_id, old_epoch, epoch, position}], photographs: {kept,
    spoilt}, set_aside, erased_again, rewritten}, the last two as ``restoring.restore`` does.

    Raises as ``restoring.restore`` does, and ``Unreachable``, ``Refused``; nothing has been changed
    then.
    """
    secret, fingerprint = split_code(code)
    client = Client(send, clock, None, random, group_key=None)
    client.identify(fingerprint=fingerprint)
    offered = _offered(client, secret)
    pem, recovery = _server_key(settings, offered, ask_recovery_key, replace=replace)
    client.key, client.practice_id = server_key.read_pem(pem), offered["practice_id"]
    now = clock.now().astimezone(UTC)
    target = targets.of(settings, {"database": _kind(settings)}, now=now)
    target.refuse_what_is_there(replace=replace)
    url = target.load_empty()
    try:
        engine = open_engine(url, reach=EVERYWHERE)
        try:
            for log in offered["locations"]:
                _fetch(engine, client, clock, secret, log, progress)
            begun = _begin(
                engine, clock, random, client.key, offered, who=who, why=why, projectors=projectors
            )
            pictures = from_group_photographs.fetch(
                engine, client, clock, secret, [one["location_id"] for one in begun]
            )
            again = erasures.apply(
                engine,
                clock,
                client.key,
                random,
                erasures=erasures.known(
                    [settings.data_dir / erasures.NAME, *erased_in], offered["public_key"]
                ),
                projectors=projectors,
            )
            holding.must_hold(engine)
            rewritten = not again or erasures.rewrite(engine, owner_url=settings.database_owner_url)
        finally:
            engine.dispose()
    except BaseException:
        target.undo()
        raise
    set_aside = [*target.put_in_place(), *restoring.put_key(settings, pem, now)]
    if recovery is not None:
        keys.keep_public(settings, {"public_key": recovery, "made_at": rfc3339(now)})
    _join_again(settings, clock, client, offered, address)
    # Everything is here and in place, which must not look like a failure; the code soon ends.
    with suppress(DomainError):
        client.ask("/group/restore/done", {"code": secret})
    return {
        "name": offered["name"],
        "locations": begun,
        "photographs": pictures,
        "set_aside": set_aside,
        "erased_again": again,
        "rewritten": rewritten,
    }


def _offered(client: Client, secret: str) -> dict:
    """Return what the group itself offers for this code. Raises ``Refused`` "group_other"."""
    answer = client.ask("/group/restore", {"code": secret}, signed=False)
    said = words.read(client.group_key or "", "offered", answer.get("said"))
    if said is None or said.get("code_hash") != secrets.digest(secrets.plain_code(secret)):
        raise Refused("group_other", "The answer is not signed by the group.")
    return said


def _kind(settings: Settings) -> str:
    engine = open_engine(settings.database_url)
    engine.dispose()
    return engine.dialect.name


def _server_key(
    settings: Settings, offered: Mapping, ask: Callable[[], str], *, replace: bool
) -> tuple[bytes, str | None]:
    """Return the practice's key, and the public half of the recovery key where that was asked."""
    path = settings.server_key_path
    if path.exists():
        if signing.public_key_text(server_key.load(path)) == offered["public_key"]:
            return path.read_bytes(), None
        if not replace:
            raise Conflict(
                "server_key_other",
                f"{path} holds the key of another server than this practice's. "
                "--replace sets it aside.",
            )
    typed = ask()
    pem = group_key.unseal(
        base64.b64decode(offered["sealed_key"]),
        typed,
        about=offered["practice_id"],
        server_public_key=offered["public_key"],
    )
    return pem, recovery_key.public_text(recovery_key.private_key(typed))


def _fetch(
    engine: Engine,
    client: Client,
    clock: Clock,
    secret: str,
    log: Mapping,
    progress: checking.Progress | None,
) -> None:
    """Put a log in, page by page, each checked before it is written."""
    location_id, position, link_ = log["location_id"], 0, chain.FIRST_LINK
    epoch: str | None = None
    writers: list[dict] = []
    while position < log["position"]:
        page = client.ask(
            "/group/restore/entries",
            {"code": secret, "location_id": location_id, "after": position},
        )
        if position == 0:
            if giving.writers_hash(page["writers"]) != log["writers"]:
                raise holding.broken(location_id, 1, "tablet_unknown")
            writers = [json.loads(text) for text in page["writers"]]
        try:
            rows = list(
                entries.from_wire(
                    page["entries"], location_id=location_id, after=position, previous=link_
                )
            )
            rows = rows[: log["position"] - position]
            arrival.check(
                rows,
                position=position,
                link=link_,
                epoch=epoch,
                keys={one["tablet_id"]: one["public_key"] for one in writers},
            )
        except entries.Damaged as problem:
            raise holding.broken(location_id, problem.position, problem.reason) from None
        if not rows:
            raise holding.broken(location_id, position + 1, "position")
        with write(engine) as connection:
            if position == 0:
                event_store.open_location(
                    connection, location_id, epoch=rows[0]["epoch"], now=clock.now()
                )
            followed.append(connection, location_id, rows, now=clock.now())
        position, link_, epoch = rows[-1]["position"], rows[-1]["link"], rows[-1]["epoch"]
        if progress is not None:
            progress(position, log["position"])
    if link_.hex() != log["link"]:
        raise holding.broken(location_id, position, "link")
    with write(engine) as connection:
        _put_writers(connection, location_id, writers)


def _put_writers(connection: Connection, location_id: str, writers: list[dict]) -> None:
    """Let those who wrote in the log go on where they were; who was shut out stays so."""
    following = followed.next_numbers(connection, location_id)
    for facts in writers:
        accounts.restore_tablet(
            connection,
            location_id,
            {
                **facts,
                "unconfirmed": int(facts["unconfirmed"]),
                "next_seq": max(facts["first_seq"], following.get(facts["tablet_id"], 1)),
            },
        )


def _begin(
    engine: Engine,
    clock: Clock,
    random: Random,
    signer: signing.PrivateKey,
    offered: Mapping,
    *,
    who: str,
    why: str,
    projectors: judge.Projectors,
) -> list[dict]:
    begun = []
    with write(engine) as connection:
        for log in offered["locations"]:
            location_id = log["location_id"]
            rebuild.rebuild_location(connection, location_id, projectors=projectors)
            row = readers.location_row(connection, location_id)
            place = documents.get(connection, location_id, "location", location_id)
            epoch = new_id(clock.now(), random)
            after_restore.begin_epoch(connection, location_id, epoch)
            desk.append_in(
                connection,
                clock,
                signer,
                location_id=location_id,
                actor_id=None,
                type="log.restored",
                entity_id=location_id,
                payload={
                    "old_epoch": row["epoch"],
                    "position": row["position"],
                    "link": row["link"].hex(),
                    "backup_id": offered["practice_id"],
                    "backup_made_at": log["received_at"],
                    "who": who,
                    "why": why,
                },
                projectors=projectors,
                zone=place["zone"],
                random=random,
            )
            names = {"location_id": location_id, "old_epoch": row["epoch"], "epoch": epoch}
            begun.append({**names, "position": row["position"]})
    return begun


def _join_again(
    settings: Settings, clock: Clock, client: Client, offered: Mapping, address: str
) -> None:
    link.keep(
        settings,
        link.Link(
            address=address,
            group_key=client.group_key or "",
            practice_id=offered["practice_id"],
            name=offered["name"],
            certificate={},
            joined_at=rfc3339(clock.now()),
        ),
    )
