"""The corrections of a machine in the log: kept by day, merged, forgotten, drawn with their slope."""

import re
from contextlib import closing
from pathlib import Path

import pytest

from feedwright.targets.command.cli import main
from feedwright.targets.log.corrections import DayRecord, keep, kept, sentence, slope
from feedwright.targets.log.exchange import forget, merge
from feedwright.targets.log.figures import Figures, Practice
from feedwright.targets.log.page import render
from feedwright.targets.log.store import open_to_read

WEAKER = [DayRecord(f"2026-05-{day:02}", "ours", 3, off, 0.1) for day, off in
          ((1, 0.12), (8, -0.02), (15, -0.11), (22, -0.27), (29, -0.33))]  # fmt: skip


def read(path: Path) -> dict[str, list[DayRecord]]:
    with closing(open_to_read(path)) as database:
        return kept(database)


def test_a_drift_is_the_slope_of_a_line() -> None:
    """Against scipy's own regression."""
    found = slope(WEAKER)
    from scipy.stats import linregress  # takes half a second to load, wherever tests are collected

    told = linregress([0, 1, 2, 3, 4], [one.along_m for one in WEAKER])
    assert found and (found.a_week_m, found.doubt_m) == pytest.approx((told.slope, told.stderr))
    assert found.clear and "0.11 m shorter each week" in sentence("ours", WEAKER)
    assert "measure the machine again" in sentence("ours", WEAKER)
    steady = [one._replace(along_m=off) for one, off in zip(WEAKER, (0.1, -0.1, 0.1, -0.1, 0.05), strict=True)]
    assert "no clear slope" in sentence("ours", steady)
    assert slope(WEAKER[:3]) is None


def test_a_day_is_kept_once_merged_once_and_forgotten(tmp_path: Path) -> None:
    one, other = tmp_path / "a.db", tmp_path / "b.db"
    for record in WEAKER[:2]:
        keep(one, record)
    keep(one, WEAKER[1]._replace(along_m=-0.5))
    assert [record.along_m for record in read(one)["ours"]] == [0.12, -0.5]
    for record in WEAKER[1:]:
        keep(other, record)
    assert merge(one, other) == (0, 0) == merge(one, other)
    assert [record.along_m for record in read(one)["ours"]] == [0.12, -0.5, -0.11, -0.27, -0.33]
    forget(one, None, "2026-05-15T00:00:00.000Z")
    assert [record.day for record in read(one)["ours"]] == ["2026-05-15", "2026-05-22", "2026-05-29"]
    forget(one, "some program", None)
    assert len(read(one)["ours"]) == 3
    forget(one, None, None)
    assert read(one) == {}


def test_the_log_shows_corrections_without_a_practice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for record in WEAKER:
        keep(tmp_path / "p.db", record)
    assert main(["log", "--db", str(tmp_path / "p.db"), "show"]) == 0
    assert "ours, 5 corrections: on 2026-05-29 balls landed 0.33 m shorter" in capsys.readouterr().out


def test_a_log_of_before_takes_corrections_and_gives_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A log written before there were any: it is brought to this version when it is opened, with a back-up."""
    from feedwright.targets.log import schema, store

    path = tmp_path / "old.db"
    with monkeypatch.context() as before:
        before.setattr(store, "MIGRATIONS", schema.MIGRATIONS[:1])
        store.open_to_write(path).close()
    assert read(path) == {}
    keep(path, WEAKER[0])
    assert read(path) == {"ours": [WEAKER[0]]}
    assert (tmp_path / "old.db.version-1").exists()


def test_the_page_draws_each_day_to_scale(tmp_path: Path) -> None:
    practices = {1: Practice(1, "2026-05-01T12:00:00+00:00", "Quick", "ab", True)}
    page = render(Figures(practices, [], []), {"ours": WEAKER}).decode()
    assert "measure the machine again" in page
    dots = [(float(x), float(y)) for x, y in re.findall(r'class="dot" cx="([\d.]+)" cy="([\d.]+)"', page)]
    apart = [x - dots[0][0] for x, _ in dots]
    assert apart == pytest.approx([0, apart[4] / 4, apart[4] / 2, 3 * apart[4] / 4, apart[4]], abs=0.2)
    from scipy.stats import linregress

    fall = linregress([one.along_m for one in WEAKER], [y for _, y in dots])
    assert fall.slope < 0 and fall.rvalue == pytest.approx(-1, abs=1e-3), "up is longer, to scale"
    assert 'class="dot"' in render(Figures(practices, [], []), {"ours": WEAKER[:1]}).decode()
