"""Words that one member lets be shared help another to find the page."""

from hashlib import sha256
from pathlib import Path

from bot.club.outcomes import Wording, line
from bot.club.tally import device_id, paper
from bot.desk.asking import Asked, asked
from bot.desk.sharing import Club, brought_in
from tests.clubs import a_kb

CLUB = sha256(b"a club").hexdigest()
SECRET = sha256(b"a device").hexdigest()
SAID = "the old lady drags her feet on that corner and sulks"


def asks(kb: str, home: Path) -> Asked:
    return asked("our old lady drags her feet and sulks", kb, str(home))


def test_a_shared_wording_finds_its_page_until_its_device_is_forgotten(
    tmp_path: Path,
) -> None:
    kb, home = a_kb(tmp_path / "kb"), tmp_path / "home"
    home.mkdir()
    before = asks(kb, home).ranking
    who = device_id(SECRET, CLUB)
    file = Path(kb, "club", "outcomes", f"{who}.txt")
    file.parent.mkdir(parents=True)
    file.write_text(f"{line(Wording(1, 'brake-drags', SAID))}\n")
    where = Club(Path(kb), home, CLUB)

    brought_in(where)

    found = asks(kb, home).ranking.cards[0]
    assert found.card == "brake-drags"
    assert "much as another member said" in found.why
    assert not before.cards or before.cards[0].probability < found.probability

    gone = Path(kb, "club", "forgotten", f"{who}.txt")
    gone.parent.mkdir()
    gone.write_bytes(paper(SECRET, CLUB))
    brought_in(where)

    after = asks(kb, home).ranking
    assert after.cards == before.cards
