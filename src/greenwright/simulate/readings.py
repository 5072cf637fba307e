"""The invented crew reads the surface: who, where, how often, and with what errors."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date

import numpy as np

from greenwright.simulate.site import STATIONS, Site
from greenwright.simulate.surface import Conditions, State
from greenwright.simulate.world import Crew, Observer

Row = dict[str, str]
INCH_M = 0.0254
# rho * S with rho the rolling resistance and S the green speed [m]; from a 1.83 m/s release.
ROLLING = 0.2387
IMPACT = "impact deceleration"
OFFSET_LENGTHS_M = (1.5, 3.0)
WILDEST = 15.0
"""Times a set's usual error beyond which nobody would write it down."""
LAUNCHER_SD = 0.002  # rad, how unequally a ramp sets its balls off


@dataclass(frozen=True, slots=True)
class Spot:
    """One visit of one observer to one green."""

    date: date
    minutes: int  # since midnight
    green: int
    observer: Observer
    ramp: str
    wetness: str
    years: float  # since the record began
    bias_m: float = 0.0  # of lengths: the reader's, the ramp's, and what came over time

    def row(self, site: Site, kind: str, value: str, **cells: str) -> Row:
        """Write one row of readings.csv."""
        base = {
            "date": self.date.isoformat(),
            "time": f"{self.minutes // 60:02d}:{self.minutes % 60:02d}",
            "green": site.names[self.green],
            "kind": kind,
            "value": value,
            "observer": self.observer.name,
        }
        return base | {key: cell for key, cell in cells.items() if cell}


def write_length(metres: float, habit: str) -> tuple[str, str]:
    """Write a length as a person does: value and unit cell, rounded to the cm or the inch.

    >>> write_length(2.8956, "ft"), write_length(2.8956, "in"), write_length(2.8956, "cm")
    (('9\\'6"', ''), ('114', 'in'), ('2.90', 'm'))
    """
    if habit == "cm":
        return f"{metres:.2f}", "m"
    inches = round(metres / INCH_M)
    return (f"{inches // 12}'{inches % 12}\"", "") if habit == "ft" else (str(inches), "in")


def index_greens(site: Site) -> tuple[int, ...]:
    """Give the three greens that are read on every reading morning, one to each group."""
    return tuple(site.members(group)[0] for group in range(3))


def read_morning(
    site: Site,
    state: State,
    conditions: Conditions,
    *,
    index: int,
    rng: np.random.Generator,
    away_m: np.ndarray | None = None,
) -> list[Row]:
    """Give all rows the crew writes on a morning; none on a day without reading.

    ``away_m`` is how far each green lies from its usual speed; a crew with ``odd_pull`` goes by it.
    """
    greens = _taken(site, conditions, rng, away_m)
    spots = _visits(site, conditions, index, greens, rng=rng)
    rows: list[Row] = []
    for order, spot in enumerate(spots):
        rows += _rolls(site, state, spot, rng)
        rows += _scores(site, state, spot, rng)
        rows += _counts(site, state, spot, rng)
        rows += _moisture(site, state, spot, rng)
        rows += _clippings(site, state, spot, rng)
        if order < 3:
            rows += _heights(site, state, spot, rng) + _offsets(site, state, spot, rng)
    rows += _weekly(site, state, conditions, spots, rng=rng)
    return rows


def _taken(
    site: Site, conditions: Conditions, rng: np.random.Generator, away_m: np.ndarray | None
) -> list[int]:
    """Give the greens that are read this morning, in the order of reading."""
    crew, day = site.world.crew, conditions.date
    order = rng.permutation(len(site.names))
    many = int(rng.integers(crew.fewest_greens, crew.most_greens + 1))
    fixed: tuple[int, ...] = index_greens(site)
    if crew.odd_pull and away_m is not None:
        odd = crew.odd_pull * np.abs(away_m) / 0.1
        push = crew.odd_lean + crew.odd_pull * (abs(float(away_m.mean())) / 0.1 - 1)
        open_today = rng.random() < 1 / (1 + math.exp(-push))
        order, fixed = np.argsort(-odd - rng.gumbel(size=len(odd))), ()
    else:
        winter = day.month in (11, 12, 1, 2)
        open_today = day.weekday() in (crew.winter_days if winter else crew.read_days)
    greens = [*fixed, *(int(g) for g in order if g not in fixed)][:many]
    return greens if open_today else []


def _visits(
    site: Site,
    conditions: Conditions,
    index: int,
    greens: list[int],
    *,
    rng: np.random.Generator,
) -> list[Spot]:
    crew, ramps = site.world.crew, list(site.world.crew.ramps)
    team = [crew.observers[i] for i in rng.permutation(len(crew.observers))[:2]]
    both = rng.random() < 0.25
    visits = [(g, k % 2 if k % 3 == 0 else 0) for k, g in enumerate(greens)]
    if both and visits:
        visits += [(greens[0], 1 - visits[0][1])]
    wet = _wetness(conditions)
    spots = []
    for k, (g, who) in enumerate(visits):
        ramp = ramps[who % len(ramps)]
        bias = _length_bias(crew, team[who], ramp, index)
        spots.append(Spot(conditions.date, 400 + 9 * k, g, team[who], ramp, wet, index / 365, bias))
    return spots


def _length_bias(crew: Crew, observer: Observer, ramp: str, index: int) -> float:
    bias = observer.length_bias_m + crew.ramps[ramp]
    bias += observer.length_drift_m_year * index / 365
    jumped = crew.jump is not None and index >= crew.jump.day
    return bias + crew.jump.size_m if jumped and crew.jump else bias


def _set_error(crew: Crew, rng: np.random.Generator) -> float:
    if crew.set_tails:
        return crew.set_sd_m * float(np.clip(rng.standard_t(crew.set_tails), -WILDEST, WILDEST))
    return crew.set_sd_m * float(rng.standard_normal())


def _wetness(conditions: Conditions) -> str:
    if conditions.before.rain_mm > 5:
        return "wet"
    return "damp" if conditions.before.rain_mm > 0.5 else "dry"


def roll_lengths(speed: float, slope: float) -> tuple[float, float]:
    """Give how far [m] a ball runs up and down a slope (rise over run) on a green of a speed.

    >>> [round(x / 0.3048, 3) for x in roll_lengths(3.048, 0.02)]
    [7.966, 13.43]
    """
    steep = slope * speed / ROLLING
    return speed / (1 + steep), speed / (1 - steep)


def _rolls(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    rows = []
    always = spot.green in index_greens(site)
    places = (0, 1) if always else (spot.date.toordinal() // 2 % 2,)
    for place in places:
        rows += _one_set(site, state, spot, place=place, rng=rng)
    return rows


def _one_set(
    site: Site, state: State, spot: Spot, *, place: int, rng: np.random.Generator
) -> list[Row]:
    crew = site.world.crew
    speed = state.seen["green_speed"][spot.green] + site.station_offset[spot.green, place]
    speed += crew.hours_drift_m * (spot.minutes / 60 - 7) + _set_error(crew, rng)
    lengths = roll_lengths(float(speed), float(site.station_slope[spot.green, place]))
    reader = spot.observer
    name = f"{site.names[spot.green]}{STATIONS[place][0]}{spot.observer.name[0].lower()}"
    rows = []
    for direction, length in zip("ab", lengths, strict=True):
        for error in crew.roll_sd_m * rng.standard_normal(3):
            seen = _to_step(length + spot.bias_m + error, reader.length_step_m)
            value, unit = write_length(seen, reader.writes)
            rows.append(spot.row(site, "roll_distance", value, unit=unit, n="1", set=name,
                                 station=STATIONS[place], direction=direction,
                                 surface=spot.wetness, instrument=spot.ramp))  # fmt: skip
    return rows


def _to_step(length: float, step: float) -> float:
    return round(length / step) * step if step else length


def _scored(latent: float, observer: Observer, years: float, rng: np.random.Generator) -> str:
    lenient = observer.leniency + observer.leniency_per_year * years
    seen = latent + lenient + observer.score_sd * rng.standard_normal()
    step = observer.score_step
    return f"{min(max(round(seen / step) * step, 0.0), 10.0):g}"


def _scores(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    smooth, true = (float(state.seen[q][spot.green]) for q in ("smoothness", "trueness_score"))
    kinds = {"roll_score": (smooth + true) / 2}
    if rng.random() < 0.5:
        kinds |= {"smoothness_score": smooth, "trueness_score": true}
    return [
        spot.row(site, kind, _scored(latent, spot.observer, spot.years, rng),
                 unit="score", method="eye")
        for kind, latent in kinds.items()
    ]  # fmt: skip


def _clean_chance(score: float) -> float:
    return 1 / (1 + math.exp(-(score - 6.8) / 0.7))


def _counts(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    if rng.random() > 0.3:
        return []
    smooth, true = (
        _clean_chance(float(state.seen[q][spot.green])) for q in ("smoothness", "trueness_score")
    )
    no_hop, no_drift = rng.random(10) < smooth, rng.random(10) < true
    counts = {"clean_rolls": no_hop & no_drift, "hops": ~no_hop, "drifts": ~no_drift}
    wanted = counts if spot.green in index_greens(site) else ("clean_rolls",)
    return [
        spot.row(site, k, str(int(counts[k].sum())), unit="count", n="10", method="eye")
        for k in wanted
    ]


def _moisture(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    level = float(state.seen["moisture"][spot.green])
    values = level + site.world.crew.moisture_sd_pct * rng.standard_normal(3)
    return [
        spot.row(site, "moisture", f"{min(max(v, 1.0), 65.0):.1f}", unit="%", depth_mm="60",
                 method="probe", instrument="probe-1")
        for v in values
    ]  # fmt: skip


def _clippings(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    volume = float(state.seen["clippings"][spot.green])
    error = math.exp(site.world.crew.clippings_sd * rng.standard_normal())
    if not volume > 0:
        return []
    return [spot.row(site, "clippings", f"{volume * error:.1f}", unit="mL/m2", method="basket")]


def _heights(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    if spot.date.weekday() != 0:
        return []
    error = 0.05 * rng.standard_normal()
    bench = f"{state.bench_mm[spot.green]:.2f}"
    cut = f"{state.seen['height_of_cut'][spot.green] + error:.2f}"
    return [
        spot.row(site, "height_of_cut", bench, unit="mm", method="bench", instrument="gauge-1"),
        spot.row(site, "height_of_cut", cut, unit="mm", method="effective", instrument="prism-1"),
    ]


def _offsets(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    """End offsets of ten equal rolls at two lengths: the surface's wander, the ramp's jitter."""
    if spot.date.weekday() != 0 or spot.date.day > 7:
        return []
    speed = float(state.seen["green_speed"][spot.green])
    heading = float(state.seen["trueness"][spot.green]) / (4 * (ROLLING / speed) ** 2)
    return [
        spot.row(site, "end_offset", f"{1000 * sideways_m:.0f}", unit="mm", n="1",
                 set=f"o{site.names[spot.green]}-{length:g}", roll_length_m=f"{length:g}",
                 station=STATIONS[0], instrument=spot.ramp, **{"pass": "along"})
        for length in OFFSET_LENGTHS_M
        for sideways_m in _sideways(heading, length, rng)
    ]  # fmt: skip


def _sideways(heading: float, length: float, rng: np.random.Generator) -> np.ndarray:
    sd = math.sqrt(heading * length + (LAUNCHER_SD * length) ** 2)
    return sd * rng.standard_normal(10)


def _weekly(
    site: Site,
    state: State,
    conditions: Conditions,
    spots: list[Spot],
    *,
    rng: np.random.Generator,
) -> list[Row]:
    if not spots:
        return []
    if conditions.date.weekday() == 2:
        return _firmness(site, state, spots, rng) + _marks(site, state, spots, rng)
    return _quality(site, state, spots[0], rng) if conditions.date.weekday() == 4 else []


def _firmness(site: Site, state: State, spots: list[Spot], rng: np.random.Generator) -> list[Row]:
    rows = []
    for spot in spots:
        level = float(state.seen["firmness"][spot.green])
        for value in level + site.world.crew.firmness_sd_g * rng.standard_normal(3):
            rows.append(spot.row(site, "firmness", f"{value:.0f}", unit="g", method=IMPACT,
                                 instrument="impact-1"))  # fmt: skip
    return rows


def _marks(site: Site, state: State, spots: list[Spot], rng: np.random.Generator) -> list[Row]:
    soft = (state.seen["moisture"] / 20).clip(0.5, 2)
    plot_m2 = 20
    rows = []
    for spot in spots[:6]:
        found = rng.poisson(plot_m2 * 0.0035 * state.rounds * float(soft[spot.green]))
        rows.append(spot.row(site, "pitch_marks", f"{found / plot_m2:g}", unit="count/m2"))
    return rows


def _quality(site: Site, state: State, spot: Spot, rng: np.random.Generator) -> list[Row]:
    rows = []
    for green, level in enumerate(state.seen["quality"]):
        seen = level + 0.5 * spot.observer.leniency + 0.3 * rng.standard_normal()
        cell = f"{min(max(round(2 * seen) / 2, 1.0), 9.0):g}"
        visit = Spot(spot.date, 600 + green, green, spot.observer, "", "", spot.years)
        rows.append(visit.row(site, "quality", cell, unit="rating", method="eye"))
    return rows
