"""The table of rights, written out a second time by hand: a change must be meant twice."""

import pytest

from api.events import catalogue
from api.people import rights

# "What must get done" of each role; the administrator sees no patients.
HELD = {
    "clinician": (
        "group.read "
        "incident.write emergency.open emergency.elsewhere "
        "record.read record.write record.sign record.void record.place "
        "house.read preset.write verification.write register.note list.acknowledge "
        "aside.read aside.settle_record "
        "retention.read retention.write exposed.read"
    ),
    "assistant": (
        "incident.write emergency.open emergency.elsewhere "
        "record.read record.write house.read verification.write register.note list.acknowledge"
    ),
    "front_desk": (
        "incident.write emergency.open emergency.elsewhere "
        "record.read record.place record.release house.read list.acknowledge"
    ),
    "manager": (
        "group.read "
        "incident.write incident.settle emergency.open emergency.elsewhere "
        "emergency.acknowledge record.read record.place record.release "
        "house.read people.read people.write operator.write register.note list.acknowledge "
        "backup.read "
        "aside.read retention.read retention.write exposed.read"
    ),
    "safety_officer": (
        "group.read group.roll_out "
        "incident.write incident.settle emergency.open emergency.elsewhere "
        "emergency.acknowledge record.read house.read preset.write "
        "verification.write device.write register.note list.write list.acknowledge room.write "
        "log.read "
        "people.read operator.write aside.read aside.settle retention.read "
        "device.release exposed.read"
    ),
    "auditor": (
        "emergency.open record.read house.read log.read people.read aside.read retention.read "
        "exposed.read"
    ),
    "administrator": (
        "group.read "
        "incident.write emergency.open emergency.elsewhere "
        "emergency.acknowledge house.read people.read people.write "
        "operator.write session.end location.write tablet.write device.write register.note "
        "list.acknowledge "
        "log.read backup.read "
        "aside.read aside.settle aside.settle_record"
    ),
}


@pytest.mark.parametrize("role", rights.ROLES)
def test_what_each_role_holds(role):
    assert set(rights.rights_of([role])) == set(HELD[role].split())


def test_every_type_of_event_has_a_right():
    assert rights.EVENT_RIGHTS.keys() == catalogue.EVENT_TYPES.keys()
    assert set(rights.EVENT_RIGHTS.values()) <= rights.RIGHTS.keys()


def test_what_is_unknown_is_nobodys():
    assert not rights.allowed(rights.ROLES, "record.destroy")
    assert not rights.may_write(rights.ROLES, "record.destroyed")
    assert not rights.allowed([], "house.read")
    assert not rights.allowed(["superuser"], "house.read")


@pytest.mark.parametrize(
    ("role", "event_type", "may"),
    [
        ("clinician", "record.signed", True),
        ("assistant", "record.signed", False),
        ("assistant", "pass.started", True),
        ("front_desk", "record.placed_in_chart", True),
        ("front_desk", "pass.started", False),
        ("auditor", "procedure.noted", False),
        ("administrator", "procedure.opened", False),
        ("safety_officer", "list.published", True),
        ("clinician", "record.voided", True),
        ("assistant", "record.voided", False),
        ("clinician", "record.reattributed", True),
        ("front_desk", "record.reattributed", False),
        ("assistant", "attachment.added", True),
        ("assistant", "list.answered", True),
        ("front_desk", "list.acknowledged", True),
        ("auditor", "list.acknowledged", False),
        ("safety_officer", "list.set_aside", True),
        ("clinician", "list.set_aside", False),
        ("assistant", "key.moved", True),
        ("assistant", "eyewear.registered", False),
        ("clinician", "handpiece.retired", False),
        ("administrator", "handpiece.retired", True),
        ("front_desk", "inventory.taken", False),
        ("manager", "inventory.taken", True),
        ("manager", "due_rule.set", False),
        ("clinician", "retention.held", True),
        ("administrator", "retention.erased", False),
        ("assistant", "device.taken_out", True),
        ("front_desk", "device.taken_out", False),
        ("assistant", "device.release_asked", False),
        ("clinician", "device.release_asked", False),
        ("safety_officer", "device.release_asked", True),
        ("administrator", "device.release_asked", False),
        ("assistant", "device.released", True),
        ("manager", "device.released", False),
        ("assistant", "service.overridden", True),
    ],
)
def test_who_may_write_what(role, event_type, may):
    assert rights.may_write([role], event_type) is may


def test_no_tablet_says_anything_about_a_person():
    # A push reads each person once, and would else not see what it changed itself.
    about_people = {
        name for name, each in catalogue.EVENT_TYPES.items() if each.subject == "person"
    }
    assert about_people
    assert about_people <= rights.DESK_ONLY
