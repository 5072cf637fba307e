"""Many worlds of many kinds: does learning tell the truth, and say so when it cannot?

``python -m tests.calibration.learning_cells [worlds] [--cell NAME ...] [--to FILE]`` prints a
table as it goes.
"""

from __future__ import annotations

import sys
from argparse import ArgumentParser
from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path

from greenwright.simulate import PLACES, Crew, Jump, Manager, Response, World
from greenwright.stats.pooling import one_blas_thread
from tests.calibration.harness import Cell, Row, Summary, hard_enough, play, summary

FIRST_SEED = 4000
COIN = Manager.coin_flip()
NEED = COIN.driven(1.0)
STRONG = Manager.by_feel(2.5)
GROUP = Manager()
CREW = Crew(fewest_greens=8, most_greens=12)
"""About 2,000 sets of readings in 400 days on 18 greens."""
SIZE = World(greens=18, days=400, crew=CREW)
HALF_WAY = World(greens=9, days=125, crew=Crew(fewest_greens=5, most_greens=7))
"""About 500 sets of readings."""


def _crew(**options: object) -> World:
    return replace(SIZE, crew=replace(CREW, **options))  # type: ignore[arg-type]


def _by(manager: Manager, world: World = SIZE) -> World:
    return replace(world, manager=manager)


def _unwritten(manager: Manager, share: float, *, whole: bool = False) -> World:
    careless = _crew(unwritten=share, unwritten_whole=whole, careless_with=("roll",))
    return _by(manager, careless)


def _rolling(world: World, peak: float) -> World:
    """The world with another true gain of a roll on green speed; 0 = it does nothing."""
    kept = [r for r in world.responses if (r.practice, r.quantity) != ("roll", "green_speed")]
    return replace(world, responses=(*kept, Response("roll", "green_speed", peak, 0.8)))


def _at(place: str, manager: Manager) -> World:
    return replace(PLACES[place], greens=18, days=400, crew=CREW, manager=manager)


def _shade(manager: Manager) -> World:
    surface = replace(SIZE.surface, shade_speed_per_moisture_pct=-0.03, shade_below=0.9)
    return replace(SIZE, surface=surface, manager=manager)


def _drifting() -> World:
    ida, bram, suki = CREW.observers
    drift = (replace(ida, length_drift_m_year=0.12), bram,
             replace(suki, length_drift_m_year=-0.08))  # fmt: skip
    return _by(NEED, _crew(observers=drift))


def _jumped(size: float) -> World:
    surface = replace(SIZE.surface, jump=Jump(200, size, tuple(range(0, 18, 3))))
    return replace(SIZE, surface=surface, manager=NEED)


def _rounded() -> World:
    team = tuple(replace(o, length_step_m=0.1524) for o in CREW.observers)  # half a foot
    return _by(NEED, _crew(observers=team))


CELLS: tuple[Cell, ...] = (
    Cell("coin", _by(COIN)),
    Cell("need", _by(NEED)),
    Cell("strong", _by(STRONG)),
    Cell("need, 10 % unwritten", _unwritten(NEED, 0.1)),
    Cell("coin, 10 % unwritten", _unwritten(COIN, 0.1)),
    Cell("strong, 10 % unwritten", _unwritten(STRONG, 0.1)),
    Cell("sham roll, need", _rolling(_by(NEED), 0.0)),
    Cell("sham groom, need", _by(replace(NEED, sham="groom", sham_need=1.0)), "groom"),
    Cell("sham groom, coin", _by(replace(NEED, sham="groom")), "groom"),
    Cell("shade by moisture", _shade(NEED), right=False),
    Cell("some greens step", _jumped(0.3), right=False),
    Cell("instrument step", _by(NEED, _crew(jump=Jump(200, 0.25))), right=False),
    Cell("heavy tails", _by(NEED, _crew(set_tails=2.5, set_sd_m=0.04)), right=False),
    Cell("group", _by(GROUP)),
    Cell("prior far too high", _rolling(_by(COIN, HALF_WAY), 0.04)),
    Cell("prior far too low", _rolling(_by(COIN, HALF_WAY), 0.5)),
    Cell("misdated 10 %", _by(NEED, _crew(misdated=0.1, careless_with=("roll",)))),
    Cell("odd days read", _by(NEED, _crew(odd_pull=1.5))),
    Cell("readers drift", _drifting()),
    Cell("half feet", _rounded()),
    Cell("need, 5 % unwritten", _unwritten(NEED, 0.05)),
    Cell("need, 20 % unwritten", _unwritten(NEED, 0.2)),
    Cell("need, 10 % of rows unwritten", _unwritten(NEED, 0.1, whole=True)),
    Cell("group, 10 % of rows unwritten", _unwritten(GROUP, 0.1, whole=True)),
    Cell("annual bluegrass, coast", _at("saltwick", NEED)),
    Cell("bermudagrass, warm", _at("emberlin", NEED)),
    Cell("mixed grass, dry inland", _at("drumsallow", NEED)),
    Cell("coin, 5 % unwritten", _unwritten(COIN, 0.05)),
    Cell("coin, 20 % unwritten", _unwritten(COIN, 0.2)),
    Cell("strong, 5 % unwritten", _unwritten(STRONG, 0.05)),
    Cell("strong, 20 % unwritten", _unwritten(STRONG, 0.2)),
)
"""The most telling first."""

HEAD = (
    "cell                             n  sets | ours: off  hold  yes partly cannot (hold among) "
    "width/least power works moved misfit | common off hold | alone off hold | means  "
    "recorded hold  lags hold  knows impression hold | s"
)


def line(found: Summary) -> str:
    """Return one cell as a line of the table."""
    among = "/".join(f"{found.holds_by[v]:.2f}" if v in found.holds_by else "-" for v in _SAID)
    said = " ".join(f"{found.verdicts[v]:.2f}" for v in _SAID)
    other = found.others
    parts = (
        f"{found.cell:31s} {found.worlds:3d} {found.sets:5.0f}",
        f"{found.bias:+.3f} {found.holds:.2f}  {said} ({among}) "
        f"{found.width:.2f}/{found.least_width:.2f} {found.power:.2f} {found.works:.2f} "
        f"{found.moved:.2f} {found.misfit:.2f}",
        f"{found.common[0]:+.3f} {found.common[1]:.2f}",
        f"{found.alone[0]:+.3f} {found.alone[1]:.2f}",
        f"{other['means'][0]:+.2f}  {other['recorded'][0]:+.2f} {other['recorded'][1]:.2f}  "
        f"{other['lags'][0]:+.2f} {other['lags'][1]:.2f}  {other['impression'][0]:+.3f} "
        f"{other['impression'][1]:.2f}",
        f"{found.seconds:.1f}",
    )
    return " | ".join(parts)


_SAID = ("yes", "partly", "cannot tell")


def played(cell: Cell, worlds: int) -> list[Row]:
    """Play a cell's worlds, always the same."""
    return [play(cell, FIRST_SEED + k) for k in range(worlds)]


def lines(cells: Iterable[Cell], worlds: int) -> Iterator[str]:
    """Yield the table line by line as cells are done."""
    yield HEAD
    for cell in cells:
        rows = played(cell, worlds)
        yield line(summary(rows))
        if cell.name == "need":
            hard = "yes" if hard_enough(rows) else "NO"
            yield f"  hard enough (means >= 30 % off, recorded >= 20 % and never holding): {hard}"
        if any(r.misfits for r in rows):
            signs = sorted(f"{n} {s:.1f}" for r in rows for n, s in r.misfits.items())
            yield f"  misfits told: {', '.join(signs)}"


def main(told: list[str]) -> None:
    """Print the table of the cells asked for, or of all."""
    asked = ArgumentParser(prog="learning_cells")
    asked.add_argument("worlds", nargs="?", type=int, default=16)
    asked.add_argument("--cell", action="append", choices=[c.name for c in CELLS])
    asked.add_argument("--to", type=Path)
    given = asked.parse_args(told)
    cells = [c for c in CELLS if not given.cell or c.name in given.cell]
    with one_blas_thread():
        for text in lines(cells, given.worlds):
            print(text, flush=True)
            if given.to:
                with given.to.open("a", encoding="utf-8") as out:
                    out.write(text + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
