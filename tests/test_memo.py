"""What was worked out before: kept by digest, and no harm where it cannot be."""

from pathlib import Path

import pytest

from bot.store.memo import MOST, Memo


def test_what_was_worked_out_is_worked_out_once(tmp_path: Path) -> None:
    times: list[str] = []

    def made() -> str:
        times.append("")
        return f"result {len(times)}"

    memo = Memo(tmp_path / "a.db")
    assert memo.of(("kind", "a", "b"), made) == "result 1"
    assert memo.of(("kind", "a", "b"), made) == "result 1"
    assert memo.of(("kind", "ab", ""), made) == "result 2"
    memo.close()
    again = Memo(tmp_path / "a.db")
    assert again.of(("kind", "a", "b"), made) == "result 1"
    assert len(times) == 2


@pytest.mark.parametrize("held", [b"", b"no database at all, and long enough" * 99])
def test_a_file_that_is_none_of_ours_is_made_anew(tmp_path: Path, held: bytes) -> None:
    path = tmp_path / "a.db"
    path.write_bytes(held)
    memo = Memo(path)
    assert memo.of("k", lambda: "result") == "result"
    memo.close()
    assert Memo(path).of("k", lambda: "another") == "result"


def test_where_nothing_can_be_kept_all_is_worked_out(tmp_path: Path) -> None:
    memo = Memo(tmp_path / "no folder" / "a.db")
    assert memo.of("k", lambda: "result") == "result"
    memo.close()
    assert Memo().of("k", lambda: "other") == "other"


def test_it_does_not_grow_for_ever(tmp_path: Path) -> None:
    for base in range(0, 2 * MOST + 10, MOST // 2):
        memo = Memo(tmp_path / "a.db")
        for n in range(MOST // 2):
            memo.of((str(base + n),), lambda: "x")
        memo.close()
    assert (tmp_path / "a.db").stat().st_size < 2_000_000
