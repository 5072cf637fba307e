"""The invented course's store room: generic materials only, prices invented."""

from __future__ import annotations

from collections.abc import Mapping

MATERIALS: tuple[Mapping[str, str], ...] = (
    {"material": "urea", "form": "soluble", "n_pct": "46", "n_urea_pct": "46", "price": "0.85",
     "price_unit": "per kg", "pack": "25", "stock": "75", "caco3_equivalent": "-81",
     "salt_index": "74.4"},
    {"material": "ammonium sulfate", "form": "soluble", "n_pct": "21", "n_ammonium_pct": "21",
     "s_pct": "24", "price": "0.6", "price_unit": "per kg", "pack": "25", "stock": "150",
     "caco3_equivalent": "-110", "salt_index": "88.3"},
    {"material": "potassium sulfate", "form": "soluble", "n_pct": "0", "k2o_pct": "50",
     "s_pct": "18", "price": "1.4", "price_unit": "per kg", "pack": "25", "stock": "50",
     "caco3_equivalent": "0", "salt_index": "42.6"},
    {"material": "magnesium sulfate", "form": "soluble", "mg_pct": "9.9", "s_pct": "13",
     "price": "0.7", "price_unit": "per kg", "pack": "25", "stock": "25",
     "caco3_equivalent": "0", "salt_index": "44"},
    {"material": "iron sulfate", "form": "soluble", "fe_pct": "20.1", "s_pct": "11.5",
     "price": "0.9", "price_unit": "per kg", "pack": "25", "stock": "50"},
    {"material": "sand", "form": "granular", "price": "0.05", "price_unit": "per kg",
     "pack": "1000", "stock": "12000", "note": "medium sand, dried"},
    {"material": "growth regulator", "form": "liquid", "density_kg_l": "1", "price": "60",
     "price_unit": "per L", "pack": "5", "stock": "10", "active": "trinexapac-ethyl",
     "note": "follow the product label and local rules; licensed applicator"},
    {"material": "wetting agent", "form": "liquid", "density_kg_l": "1", "price": "12",
     "price_unit": "per L", "pack": "10", "stock": "40", "note": "follow the product label"},
)  # fmt: skip

NITROGEN_PCT: Mapping[str, float] = {
    row["material"]: float(row["n_pct"]) for row in MATERIALS if "n_pct" in row
}
