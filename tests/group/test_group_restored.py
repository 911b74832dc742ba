"""The group's own server is put back from its own backup, and its practices go on as before."""

from pathlib import Path

import pytest

from api.app import PROJECTORS, create_app
from api.audit.verify import verify_log
from api.backup import erasures, keys, making, restoring
from tests.erasure.acts import House
from tests.group.test_erased import marks_in


@pytest.mark.long
def test_it_takes_again_what_came_after_its_backup_and_lets_go_of_what_was_erased(two, tmp_path):
    house, group = House(two.practice), two.group
    record_id, tablet = house.record(picture=None)
    two.once()
    keys.new_recovery_key(group.settings, two.clock, group.random)
    folder = tmp_path / "backups"
    made = making.make(group.settings, group.engine, two.clock, group.random, folder=folder)
    house.erase(record_id)
    tablet.record("procedure.noted", tablet.new_id(), {"text": "later"})
    tablet.push()
    two.once()
    # A practice's erasures are in its own log; the group writes none of them down as its own.
    assert erasures.keep(group.settings, group.engine, group.server_key) == []
    assert not (group.settings.data_dir / erasures.NAME).exists()
    group.engine.dispose()

    done = restoring.restore(
        group.settings,
        two.clock,
        group.random,
        folder=Path(made["path"]),
        who="Whoever looks after it",
        why="the disk broke",
        replace=True,
        ask_recovery_key=lambda: pytest.fail("the key is here"),
        projectors=PROJECTORS,
    )
    own = {each["location_id"] for each in done["locations"]}
    assert two.practice.location_id not in own
    two.group_app = two.wire.app = create_app(group.settings, clock=two.clock)
    assert marks_in(two.group.engine) != {}
    two.once()
    assert two.same()
    assert len(two.histories()) == 1
    assert marks_in(two.group.engine) == {}
    assert verify_log(two.group.engine)["first_bad"] is None
