"""Which category of the European pressure equipment directive a vessel or a pipe falls into.

Knows: vessels with gas of group 2 (nitrogen accumulators, on their whole volume), and piping with liquid of group 2
(hydraulic oils without a hazard class) or gas of group 2. Does not know: the exclusions (a road vehicle's own
equipment is outside, a model or a rig is not), assemblies, or other laws. The thresholds are recalled, and flagged so
in the table: read the directive before relying on any of this.
"""

from typing import Literal

import fluids_data
from models.quantity import UNITS, OutOfRange

Category = Literal["out_of_scope", "SEP", "I", "II", "III", "IV"]


def _limit(name: str) -> float:
    for row in fluids_data.load_table("ped").rows:
        if row.text("id") == name:
            return row.number("value")
    raise KeyError(name)


def sep_product() -> float:
    """bar·L up to which a nitrogen vessel above one litre is sound engineering practice."""
    return _limit("vessel_gas2_sep_product")


def vessel_category(pressure: float, volume: float) -> Category:
    """Category of a vessel with group 2 gas: `pressure` Pa (greatest allowed, gauge), `volume` m³ in total.

    SEP is sound engineering practice: no conformity assessment and no CE mark.
    Source: [ped2014_68], article 4 and annex II table 2.
    """
    bar, litres = UNITS["bar"].from_si(pressure), UNITS["l"].from_si(volume)
    if bar <= _limit("scope_pressure"):
        return "out_of_scope"
    if litres <= _limit("vessel_gas2_small_volume"):
        if bar <= _limit("vessel_gas2_small_sep_pressure"):
            return "SEP"
        return "III" if bar <= _limit("vessel_gas2_small_iii_pressure") else "IV"
    if bar > _limit("vessel_gas2_small_iii_pressure"):
        return "IV"
    steps: tuple[tuple[str, Category], ...] = (("sep", "SEP"), ("i", "I"), ("ii", "II"), ("iii", "III"))
    for step, category in steps:
        if bar * litres <= _limit(f"vessel_gas2_{step}_product"):
            return category
    return "IV"


def piping_category(pressure: float, nominal_diameter: float, gas: bool = False) -> Category:
    """Category of piping with a group 2 liquid, or with `gas` a group 2 gas: `pressure` Pa gauge, nominal diameter m.

    Raises OutOfRange for piping with liquid beyond sound engineering practice, whose higher categories the table does
    not hold. Source: [ped2014_68], annex II tables 7 and 9.
    """
    bar, size = UNITS["bar"].from_si(pressure), UNITS["mm"].from_si(nominal_diameter)
    if bar <= _limit("scope_pressure"):
        return "out_of_scope"
    if not gas:
        if (
            bar <= _limit("piping_liquid2_pressure")
            or size <= _limit("piping_liquid2_diameter")
            or bar * size <= _limit("piping_liquid2_product")
        ):
            return "SEP"
        raise OutOfRange(
            "nominal diameter of piping", size, None, _limit("piping_liquid2_diameter"), "mm", "ped2014_68"
        )
    if size <= _limit("piping_gas2_sep_diameter") or bar * size <= _limit("piping_gas2_sep_product"):
        return "SEP"
    if size <= _limit("piping_gas2_i_diameter") and bar * size <= _limit("piping_gas2_i_product"):
        return "I"
    if size <= _limit("piping_gas2_ii_diameter") and bar * size <= _limit("piping_gas2_ii_product"):
        return "II"
    return "III"
