"""Makes the state folder that is kept for later versions: ``python tests/life/make_kept_state.py FOLDER``.

Run it once for a form of the state, and never over a folder that is kept already: what later versions must
read is what this version wrote, not what they would write.
"""

from __future__ import annotations

import shutil
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from yard import Yard

from curing.model.links import Link, digest
from curing.store import open_state

UID = "5f0c9e1a-93d4-4d0c-8a55-3b1b7a0f2c11"
MARK = "# Invented, and kept as this version wrote it: later versions read it. See tests/life/make_kept_state.py.\n"


def make(folder: Path) -> None:
    """Live a fortnight with an entry of every kind and a decision of every kind."""
    folder.mkdir(parents=True)
    yard = Yard(folder)
    yard.job.write_text(MARK + yard.job.read_text())
    yard.plan("2027-04-29 06:00")
    at = "2027-04-30 14:00"
    yard.say("log", "test", "meter=probe", "read=12.4", "dried=12.0", "--by", "bo", at=at)
    yard.read_dry("3", at)
    yard.say("log", "weighing", "3", "231.4kg", "--by", "bo", at=at)
    yard.say("log", "refused", "3.sockets", "--by", "ida", "--note", "two boxes are open", at=at)
    yard.say("log", "met", "3.sockets", "--by", "ida", at="2027-04-30 15:00")
    yard.say("log", "met", "3.panel-dry", "--by", "ida", "--key", "opened", at="2027-04-30 15:00")
    yard.plan("2027-04-30 16:00")
    yard.say(
        "log", "batch", "3-out", "base", "number=1", "lime=25 kg", "sand=8 buckets", "--by", "bo", at="2027-05-03 07:30"
    )
    yard.say("log", "started", "3-out", "base", "--by", "ida", "--at", "07:20", at="2027-05-03 12:00")
    yard.say("log", "finished", "3-out", "base", "--by", "ida", "--at", "14:05", at="2027-05-03 15:00")
    yard.plan("2027-05-03 15:10")
    number = yard.say("log", "note", "3-out", "wind from the west", "--by", "bo", at="2027-05-03 15:20").split()[1]
    yard.say("log", "correct", number, "note", "3-out", "wind from the east", "--by", "bo", at="2027-05-03 15:30")
    yard.say("log", "misted", "early", "--by", "near", "--at", "07:40", at="2027-05-04 08:00")
    yard.say("log", "damp", "3-out", "late", "--by", "near", at="2027-05-04 18:30")
    yard.say("log", "rain", "3-out", "early", "--by", "near", at="2027-05-05 08:00")
    yard.say("log", "could-not", "3-out", "late", "why=gate locked", "--by", "near", at="2027-05-05 18:30")
    yard.say("log", "inspection", "3-out", "sound", "found=no cracks", "--by", "ida", at="2027-05-06 07:00")
    yard.say("log", "passed-on", "to=bo", "from=2027-05-06", "late", "--by", "near", at="2027-05-06 08:00")
    yard.say("log", "cover-up", "3-out", "sheet", "--by", "ida", at="2027-05-06 09:00")
    yard.say("log", "cover-down", "3-out", "sheet", "--by", "ida", at="2027-05-07 07:00")
    yard.plan("2027-05-07 07:05")
    yard.say("assign", "near", "2027-05-22..2027-05-23", "--by", "ida", at="2027-05-07 08:00")
    yard.say("log", "test", "3-out", "hollows", "passed", "--by", "bo", at="2027-05-17 10:00")
    yard.say("log", "met", "3-out.base-dry", "--by", "ida", at="2027-05-17 10:05")
    yard.say(
        "move", "3-out.finish", "2027-05-20", "--by", "ida", "--reason", "the mixer is away", at="2027-05-17 10:10"
    )
    yard.plan("2027-05-17 10:15")
    yard.say("keep", "3-out.finish", "--by", "ida", "--reason", "promised to the owner", at="2027-05-17 10:20")
    yard.plan("2027-05-17 10:25")
    with open_state(yard.state, UID) as store:  # links that open nothing: no key is kept
        when = datetime(2027, 5, 17, 8, 30, tzinfo=UTC)
        store.add_link(Link("near", 1, digest("invented 1"), when))
        store.add_link(Link("near", 2, digest("invented 2"), when + timedelta(hours=1)))
        store.add_link(Link("ida", 1, digest("invented 3"), when))
        store.note_fetched({digest("invented 3"): when + timedelta(hours=2)})
    shutil.rmtree(folder / "out")


if __name__ == "__main__":
    make(Path(sys.argv[1]))
