"""Events as plain data: what is packed comes back, and old journals open for ever."""

import json
from pathlib import Path

import pytest

from bot.job.job import Stage
from bot.job.moves import replay
from bot.job.saved import UnknownEventError, pack, unpack
from tests.samples import SAMPLES

JOURNALS = sorted((Path(__file__).parent / "journals").glob("*.jsonl"))


@pytest.mark.parametrize("name", SAMPLES)
def test_event_survives_the_journal(name: str) -> None:
    kind, said = pack(SAMPLES[name])
    assert unpack(kind, json.loads(json.dumps(said))) == SAMPLES[name]


@pytest.mark.parametrize(("kind", "said"), [("Exploded", {}), ("Found", {"colour": 1})])
def test_event_of_a_newer_version_is_refused_in_one_sentence(
    kind: str, said: dict[str, object]
) -> None:
    with pytest.raises(UnknownEventError, match="which this version of chock does not"):
        unpack(kind, said)


@pytest.mark.parametrize("path", JOURNALS, ids=lambda path: path.stem)
def test_old_journal_still_replays(path: Path) -> None:
    rows = [json.loads(line) for line in path.read_text().splitlines()]
    job = replay(unpack(row["kind"], row["said"]) for row in rows)
    assert job.stage is Stage.CLOSED
    assert job.outcome is not None
