"""The record's tables: column orders, and the rows of everything but readings and players."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

import numpy as np

from greenwright.simulate.events import Event, coming_trophy
from greenwright.simulate.materials import MATERIALS
from greenwright.simulate.practices import Act
from greenwright.simulate.site import GROUPS, STATIONS, Site
from greenwright.simulate.weather import NUMBERS, WeatherDay
from greenwright.simulate.world import World

Row = dict[str, str]


def _names(text: str) -> tuple[str, ...]:
    return tuple(text.split())


COLUMNS: Mapping[str, tuple[str, ...]] = {
    "course": _names("course name latitude longitude elevation_m timezone display_units "
                     "speed_units currency jurisdiction setting note"),
    "greens": _names("green group area_m2 grass rootzone in_play order latitude longitude shade "
                     "note"),
    "stations": _names("green station slope_pct x_m y_m note"),
    "readings": _names("date time green station part kind value unit n direction pass set "
                       "roll_length_m hole_m depth_mm surface method instrument observer note"),
    "work": _names("date time status green part practice amount unit passes material depth_mm "
                   "diameter_mm spacing_mm spacing2_mm carrier_l_ha target machine operator "
                   "licence labour_h cost detail note"),
    "weather": _names("date kind issued t_min_c t_max_c t_mean_c rain_mm rh_mean_pct rh_min_pct "
                      "rh_max_pct rh90_h leaf_wet_h wind_m_s wind_height_m solar_mj_m2 "
                      "sunshine_h station note"),
    "lab": _names("date green medium depth_cm extractant analyte value unit laboratory note"),
    "materials": _names("material form n_pct n_urea_pct n_ammonium_pct n_nitrate_pct p2o5_pct "
                        "k2o_pct ca_pct mg_pct s_pct fe_pct mn_pct cl_pct na_pct density_kg_l "
                        "price price_unit pack stock caco3_equivalent salt_index active "
                        "half_life_gdd max_rate max_rate_unit max_per_year min_interval_d "
                        "reentry_h registration note"),
    "rounds": _names("date rounds note"),
    "feedback": _names("date topic count green asked n_asked note"),
    "putts": _names("date green distance_m player tried made note"),
    "calendar": _names("start end name kind weight rounds note"),
    "targets": _names("from until quantity green method low high unit weight note"),
    "crew": _names("practice group minutes people machine count cost_per_h note"),
    "limits": _names("limit green weekday from until value unit note"),
}  # fmt: skip

UNITS = {
    "mow": "mm", "brush": "mm", "verticut": "mm", "topdress": "L/m2", "core": "%",
    "needle_tine": "%", "feed": "g/m2", "regulator": "mL/m2", "wetting_agent": "mL/m2",
    "irrigate": "mm", "hand_water": "mm",
}  # fmt: skip
# practice: minutes for one pass over one group of six, people, machine
LABOUR: Mapping[str, tuple[int, int, str]] = {
    "mow": (60, 1, "mower"), "roll": (40, 1, "roller"), "topdress": (60, 2, "spreader"),
    "brush": (45, 1, "brush"), "verticut": (75, 1, "verticutter"), "core": (240, 3, "corer"),
    "needle_tine": (150, 1, "corer"), "feed": (25, 1, "sprayer"),
    "regulator": (25, 1, "sprayer"), "wetting_agent": (25, 1, "sprayer"),
    "hole_change": (40, 1, ""), "hand_water": (40, 1, ""),
}  # fmt: skip
OPERATORS = ("Nell", "Odo", "Suki", "Bram", "Ida")
WAGE = "22"


def course_row(world: World) -> Row:
    """Give the one row of course.csv: an invented course."""
    place = world.place
    return {
        "course": place.key, "name": place.name,
        "latitude": f"{world.climate.latitude_deg:g}", "longitude": place.longitude,
        "elevation_m": place.elevation_m, "timezone": place.timezone, "display_units": "metric",
        "speed_units": "ft", "currency": place.currency, "setting": "member",
        "note": "an invented course; every number of this record is invented",
    }  # fmt: skip


def green_rows(site: Site) -> list[Row]:
    """Give greens.csv."""
    soil = {0: "sand", 1: "sand", 2: "sand-topped soil"}
    return [
        {
            "green": name, "group": GROUPS[site.group[i]], "area_m2": f"{site.area_m2[i]:.0f}",
            "grass": site.world.place.grass, "rootzone": soil[int(site.group[i])], "in_play": "yes",
            "order": str(i + 1), "shade": _shade(float(site.light[i])),
        }
        for i, name in enumerate(site.names)
    ]  # fmt: skip


def _shade(light: float) -> str:
    return "open" if light > 0.88 else "part" if light > 0.7 else "heavy"


def station_rows(site: Site) -> list[Row]:
    """Give stations.csv, slopes as a level would read them."""
    return [
        {"green": name, "station": station,
         "slope_pct": f"{abs(100 * site.station_slope[i, k]):.1f}"}
        for i, name in enumerate(site.names)
        for k, station in enumerate(STATIONS)
    ]  # fmt: skip


def weather_rows(days: Iterable[WeatherDay], kind: str, issued: date | None = None) -> list[Row]:
    """Give rows of weather.csv."""
    start = {"kind": kind, "issued": issued.isoformat() if issued else "", "wind_height_m": "2"}
    return [
        {"date": day.date.isoformat(), **start, **{k: f"{getattr(day, k):g}" for k in NUMBERS}}
        for day in days
    ]


def work_rows(site: Site, day: date, acts: tuple[Act, ...], status: str) -> list[Row]:
    """Give the rows of one day's work in order of time; like work on all greens is one row."""
    merged: dict[tuple[object, ...], list[int]] = {}
    for act in acts:
        like = (act.practice, act.time, act.amount, act.passes, act.material, act.depth_mm,
                act.detail)  # fmt: skip
        merged.setdefault(like, []).extend(act.greens)
    rows = [
        _work_row(site, day, Act(like[0], part, *like[1:]), status)
        for like, greens in merged.items()
        for part in site.parted(tuple(sorted(greens)))
    ]
    return sorted(rows, key=lambda row: row["time"])


def _work_row(site: Site, day: date, act: Act, status: str) -> Row:
    minutes, people, machine = LABOUR.get(act.practice, (0, 0, ""))
    share = len(act.greens) / (len(site.names) / len(GROUPS))
    row = {
        "date": day.isoformat(), "time": act.time, "status": status,
        "green": site.spell(act.greens), "practice": act.practice,
        "amount": "" if act.amount is None else f"{act.amount:g}",
        "unit": UNITS.get(act.practice, "") if act.amount is not None else "",
        "passes": str(act.passes) if act.practice in ("mow", "roll", "brush", "verticut") else "",
        "material": act.material,
        "depth_mm": "" if act.depth_mm is None else f"{act.depth_mm:g}",
        "carrier_l_ha": "400" if machine == "sprayer" else "",
        "machine": f"{machine}-1" if machine else "",
        "detail": act.detail,
    }  # fmt: skip
    if status == "done" and minutes:
        row["labour_h"] = f"{minutes * people * act.passes * share / 60:.2f}"
        row["operator"] = OPERATORS[day.toordinal() % len(OPERATORS)]
    return row


def lab_rows(site: Site, years: Iterable[int], rng: np.random.Generator) -> list[Row]:
    """Give lab.csv: each February, the soil of one green of each group."""
    rows = []
    for year in years:
        for group in range(len(GROUPS)):
            green = site.members(group)[0]
            rows += _soil(site.names[green], date(year, 2, 10), group, rng)
    return rows


# analyte: extractant, unit, mean on sand, mean on sand-topped soil; invented
SOIL = (
    ("K", "mehlich-3", "mg/kg", 52, 95), ("P", "mehlich-3", "mg/kg", 38, 60),
    ("Ca", "mehlich-3", "mg/kg", 560, 900), ("Mg", "mehlich-3", "mg/kg", 70, 120),
    ("S", "mehlich-3", "mg/kg", 14, 20), ("pH", "water", "", 6.4, 6.2),
    ("OM", "loss-on-ignition", "%", 2.9, 4.4),
)  # fmt: skip


def _soil(green: str, day: date, group: int, rng: np.random.Generator) -> list[Row]:
    rows = []
    for analyte, extractant, unit, sand, soil in SOIL:
        mean = soil if group == GROUPS.index("C") else sand
        value = mean * float(np.exp((0.02 if analyte == "pH" else 0.1) * rng.standard_normal()))
        rows.append({"date": day.isoformat(), "green": green, "medium": "soil", "depth_cm": "10",
                     "extractant": extractant, "analyte": analyte, "value": f"{value:.3g}",
                     "unit": unit, "laboratory": "Fenside Soil Room"})  # fmt: skip
    return rows


def calendar_rows(events: tuple[Event, ...], cored: list[date]) -> list[Row]:
    """Give calendar.csv, with the spells of coring as renovation."""
    rows = [
        {"start": e.start.isoformat(), "end": e.end.isoformat(), "name": e.name, "kind": e.kind,
         "weight": str(e.weight), "rounds": str(e.rounds)}
        for e in events
    ]  # fmt: skip
    rows += [
        {"start": day.isoformat(), "end": day.isoformat(), "name": "Coring", "kind": "renovation",
         "weight": "1"}
        for day in cored
    ]  # fmt: skip
    return sorted(rows, key=lambda row: row["start"])


# quantity, method, low, high, unit, weight
TARGETS = (
    ("green_speed", "", "2.75", "3.05", "m", "1"), ("smoothness", "", "8", "10", "score", "1"),
    ("trueness", "", "0", "8", "mm/m", "0.5"),
    ("firmness", "impact deceleration", "85", "115", "g", "0.5"),
    ("moisture", "", "15", "25", "%", "0.3"), ("clippings", "", "3", "25", "mL/m2", "0.2"),
    ("quality", "", "6", "9", "rating", "0.5"),
)  # fmt: skip


def target_rows(today: date) -> list[Row]:
    """Give targets.csv: the everyday bands, and a faster band on the coming trophy's day."""
    keys = ("quantity", "method", "low", "high", "unit", "weight")
    rows = [dict(zip(keys, line, strict=True)) for line in TARGETS]
    day = coming_trophy(today).isoformat()
    return [*rows, {"from": day, "until": day, "quantity": "green_speed", "low": "3",
                    "high": "3.3", "unit": "m", "weight": "2"}]  # fmt: skip


def crew_rows() -> list[Row]:
    """Give crew.csv: the labour of one pass on one group, and the machines."""
    rows = [
        {"practice": practice, "group": group, "minutes": str(minutes), "people": str(people),
         "machine": machine, "cost_per_h": WAGE}
        for practice, (minutes, people, machine) in LABOUR.items()
        for group in GROUPS
    ]  # fmt: skip
    machines = {"mower": 2, "roller": 1, "spreader": 1, "verticutter": 1, "sprayer": 1}
    return rows + [{"machine": name, "count": str(count)} for name, count in machines.items()]


# limit, green, weekday, value, unit
LIMITS = (
    ("labour_h_day", "", "", "12", "h"), ("labour_h_day", "", "sat", "9", "h"),
    ("labour_h_day", "", "sun", "9", "h"), ("min_height_mm", "", "", "3", "mm"),
    ("min_height_mm", "C", "", "3.2", "mm"), ("max_height_step_mm", "", "", "0.13", "mm"),
    ("min_step_interval_d", "", "", "3", "d"), ("n_year_g_m2", "", "", "18", "g/m2"),
    ("n_month_g_m2", "", "", "2.5", "g/m2"), ("n_application_g_m2", "", "", "0.8", "g/m2"),
    ("no_core_days_before_event", "", "", "21", "d"), ("water_mm_day", "", "", "8", "mm"),
)  # fmt: skip


def limit_rows(site: Site) -> list[Row]:
    """Give limits.csv; the weekly rolls are the ones the manager keeps to."""
    keys = ("limit", "green", "weekday", "value", "unit")
    rows = [dict(zip(keys, line, strict=True)) for line in LIMITS]
    weekly = zip(GROUPS, site.world.manager.rolls_week, strict=True)
    return rows + [
        {"limit": "rolls_week", "green": group, "value": str(cap), "unit": "count"}
        for group, cap in weekly
    ]


def material_rows() -> list[Row]:
    """Give materials.csv."""
    return [dict(row) for row in MATERIALS]
