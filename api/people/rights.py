"""Who may do what: one table, asked in one place. Pure."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime

from api.clock import parse_rfc3339

ROLES = (
    "clinician",
    "assistant",
    "front_desk",
    "manager",
    "safety_officer",
    "auditor",
    "administrator",
)

# The administrator keeps people and tablets running and has no business in patients' records.
RIGHTS: Mapping[str, frozenset[str]] = {
    "record.read": frozenset(
        {"clinician", "assistant", "front_desk", "manager", "safety_officer", "auditor"}
    ),
    "record.write": frozenset({"clinician", "assistant"}),
    "record.sign": frozenset({"clinician"}),
    "record.void": frozenset({"clinician"}),
    "record.place": frozenset({"clinician", "front_desk", "manager"}),
    "record.release": frozenset({"front_desk", "manager"}),
    "house.read": frozenset(ROLES),
    "preset.write": frozenset({"clinician", "safety_officer"}),
    "verification.write": frozenset({"clinician", "assistant", "safety_officer"}),
    "device.write": frozenset({"safety_officer", "administrator"}),
    # Letting a laser back into use, once it has passed; a second person confirms. Whoever may
    # record a check may take it out: for a suspicion nobody waits.
    "device.release": frozenset({"safety_officer"}),
    # Which patients a laser that failed may have been used on: read with record.read.
    "exposed.read": frozenset({"safety_officer", "clinician", "manager", "auditor"}),
    # What happens to a thing of the register: inspected, a key taken out, counted.
    "register.note": frozenset(
        {"clinician", "assistant", "manager", "safety_officer", "administrator"}
    ),
    # Whoever works here says what went wrong; whether it is to be reported, and when it is closed,
    # is for who answers for it.
    "incident.write": frozenset(ROLES) - {"auditor"},
    "incident.settle": frozenset({"safety_officer", "manager"}),
    "list.write": frozenset({"safety_officer"}),
    # An auditor reads; everybody who works here says that they have read.
    "list.acknowledge": frozenset(ROLES) - {"auditor"},
    "room.write": frozenset({"safety_officer"}),
    "people.write": frozenset({"administrator", "manager"}),
    # What was said of a person, and by whom; who works here is everybody's to know (house.read).
    "people.read": frozenset({"administrator", "manager", "safety_officer", "auditor"}),
    "session.end": frozenset({"administrator"}),
    # Opening a location, and bringing people from one that one looks after to another.
    "location.write": frozenset({"administrator"}),
    # Whoever works here may open records in an emergency; who answers for the practice sees it.
    "emergency.open": frozenset(ROLES),
    # At a location where one has no role; an auditor from outside has no patient to look after.
    "emergency.elsewhere": frozenset(ROLES) - {"auditor"},
    "emergency.acknowledge": frozenset({"administrator", "manager", "safety_officer"}),
    # What an operator may do, and what proves that they can.
    "operator.write": frozenset({"administrator", "manager", "safety_officer"}),
    "tablet.write": frozenset({"administrator"}),
    # Whether there is a backup to go back to; who makes one sits at the server.
    "backup.read": frozenset({"administrator", "manager"}),
    # How far the group is, what it offers, and at the group whom it follows and what it rolled out.
    "group.read": frozenset({"administrator", "manager", "safety_officer", "clinician"}),
    "group.roll_out": frozenset({"safety_officer"}),
    # What was put aside. Whose tablet it was the administrator knows, and whether a patient's
    # entries are true whoever treats; what an entry says is shown by record.read only.
    "aside.read": frozenset({"clinician", "manager", "safety_officer", "auditor", "administrator"}),
    "aside.settle": frozenset({"administrator", "safety_officer"}),
    "aside.settle_record": frozenset({"administrator", "clinician"}),
    # How long records are kept, and letting their content go: two people, each with this right. Who
    # treats knows what is lost, who answers for the practice why it may go.
    "retention.write": frozenset({"clinician", "manager"}),
    "retention.read": frozenset({"clinician", "manager", "auditor", "safety_officer"}),
    "log.read": frozenset({"auditor", "safety_officer", "administrator"}),
}

EVENT_RIGHTS: Mapping[str, str] = {
    "location.opened": "location.write",
    "location.offline_limit_set": "tablet.write",
    "log.restored": "tablet.write",
    "person.registered": "people.write",
    "person.left": "people.write",
    "emergency.opened": "emergency.open",
    "emergency.acknowledged": "emergency.acknowledge",
    "credential.noted": "operator.write",
    "credential.withdrawn": "operator.write",
    "scope.decided": "operator.write",
    "tablet.enrolled": "tablet.write",
    "tablet.renamed": "tablet.write",
    "tablet.revoked": "tablet.write",
    "witness.alarmed": "tablet.write",
    "witness.answered": "tablet.write",
    # Made by the server; for entries of records it asks for aside.settle_record instead.
    "aside.released": "aside.settle",
    "aside.rejected": "aside.settle",
    "retention.ruled": "retention.write",
    "retention.held": "retention.write",
    "retention.hold_ended": "retention.write",
    # Made by the server, with what they let go of.
    "erasure.asked": "retention.write",
    "erasure.declined": "retention.write",
    "retention.erased": "retention.write",
    "device.registered": "device.write",
    "handpiece.registered": "device.write",
    "device.retired": "device.write",
    "handpiece.retired": "device.write",
    "eyewear.registered": "device.write",
    "eyewear.inspected": "register.note",
    "eyewear.retired": "device.write",
    "key.registered": "device.write",
    "key.moved": "register.note",
    "key.retired": "device.write",
    "meter.registered": "device.write",
    "meter.calibrated": "device.write",
    "meter.retired": "device.write",
    "inventory.taken": "register.note",
    "due_rule.set": "device.write",
    "maintenance.recorded": "device.write",
    "maintenance.withdrawn": "device.write",
    "incident.recorded": "incident.write",
    "incident.assessed": "incident.settle",
    "incident.action_set": "incident.settle",
    "incident.closed": "incident.settle",
    "incident.reopened": "incident.settle",
    "procedure_kind.listed": "preset.write",
    "list.published": "list.write",
    "list.set_aside": "list.write",
    "list.acknowledged": "list.acknowledge",
    "preset.published": "preset.write",
    "preset.withdrawn": "preset.write",
    # The first at the group, what was offered by the practice's own server, each with its content.
    "rollout.made": "group.roll_out",
    "list.offered": "list.write",
    "list.offer_declined": "list.write",
    "preset.offered": "preset.write",
    "preset.offer_declined": "preset.write",
    "verification.recorded": "verification.write",
    "device.checked": "verification.write",
    "optic.cleaned": "verification.write",
    "test_cut.referenced": "verification.write",
    "test_cut.recorded": "verification.write",
    "device.taken_out": "verification.write",
    "device.key_held": "verification.write",
    "device.release_asked": "device.release",
    "device.released": "verification.write",
    "room.drawn": "room.write",
    "zone.decided": "room.write",
    "procedure.opened": "record.write",
    "timeout.answered": "record.write",
    "list.answered": "record.write",
    "operator.accepted": "record.write",
    "service.overridden": "record.write",
    "protection.noted": "record.write",
    "pass.started": "record.write",
    "laser.emitted": "record.write",
    "procedure.noted": "record.write",
    "procedure.paused": "record.write",
    "procedure.resumed": "record.write",
    "procedure.handed_over": "record.write",
    "attachment.added": "record.write",
    "procedure.ended": "record.write",
    "entry.withdrawn": "record.write",
    "record.signed": "record.sign",
    "record.addended": "record.sign",
    "record.placed_in_chart": "record.place",
    "record.removed_from_chart": "record.place",
    "record.reattributed": "record.sign",
    "record.voided": "record.void",
}

# Who works here, and what they may do as operators.
ABOUT_PEOPLE = frozenset(
    {
        "person.registered",
        "person.left",
        "credential.noted",
        "credential.withdrawn",
        "scope.decided",
    }
)
# Decided with the whole practice in sight, so never on a tablet that may have lost touch with it.
DESK_ONLY = ABOUT_PEOPLE | {"retention.ruled", "retention.held", "retention.hold_ended"}
# What happened at the chair happened, whoever wrote it down: of all that somebody might not say,
# only this may be let count all the same. What states a person's word or a rule may not.
VOUCHED_FOR = frozenset({"record.write"})
# Only who has this role gives it, takes it, or changes somebody who has it.
KEEPER = "administrator"


def roles_at(person: Mapping, moment: datetime) -> tuple[str, ...]:
    """Return the roles of a person's document that count at ``moment``, in the location's zone.

    Whoever has left has none. An auditor's counts through the day that was set for it.
    """
    left_at = person.get("left_at")
    if left_at is not None and moment >= parse_rfc3339(left_at):
        return ()
    until = person.get("auditor_until")
    over = until is None or moment.date() > date.fromisoformat(until)
    return tuple(role for role in person.get("roles") or () if not (role == "auditor" and over))


def allowed(roles: Iterable[str], right: str) -> bool:
    """Return whether any of ``roles`` carries ``right``; an unknown right is nobody's."""
    return not RIGHTS.get(right, frozenset()).isdisjoint(roles)


def may_write(roles: Iterable[str], event_type: str) -> bool:
    """Return whether any of ``roles`` may make an event of this type; unknown types: nobody."""
    right = EVENT_RIGHTS.get(event_type)
    return right is not None and allowed(roles, right)


def rights_of(roles: Iterable[str]) -> list[str]:
    """Return the rights that ``roles`` carry together, sorted."""
    held = list(roles)
    return sorted(right for right in RIGHTS if allowed(held, right))


def may_publish(roles: Iterable[str]) -> bool:
    """Return whether any of ``roles`` may publish presets, and so review them."""
    return allowed(roles, "preset.write")
