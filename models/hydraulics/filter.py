"""A filter: how well it catches, and what it costs in pressure, cold oil above all.

Knows: one element rated by a flow, a viscosity and a drop. Does not know: which cleanliness a valve asks for (a table
in fluids_data), clogging over time, or the housing's own loss (a fitting, if it counts).
"""


def beta_ratio(upstream: float, downstream: float) -> float:
    """Filtration ratio: particles above a size, counted before and after. Source: [sullivan], example 6.3."""
    return upstream / downstream


def capture_share(beta: float) -> float:
    """Share of those particles caught in one pass, 1 − 1/β. Source: definition."""
    return 1.0 - 1.0 / beta


def element_drop(
    flow: float, dynamic_viscosity: float, rated_flow: float, rated_viscosity: float, rated_drop: float
) -> float:
    """Pressure drop (Pa) of a clean element, with the sign of `flow` (m³/s).

    Creeping flow through the medium: in proportion to flow and dynamic viscosity (Pa·s), from `rated_drop` Pa at
    `rated_flow` and `rated_viscosity`. Source: Darcy's law of porous media; the rating `estimated` by the caller.
    """
    return rated_drop * (flow / rated_flow) * (dynamic_viscosity / rated_viscosity)


def rated_flow_for(
    flow: float, dynamic_viscosity: float, allowed_drop: float, rated_viscosity: float, rated_drop: float
) -> float:
    """Rated flow (m³/s) of an element that passes `flow` of cold oil at `allowed_drop` (Pa), never below `flow` itself.

    Source: `element_drop`, inverted.
    """
    return max(flow, flow * (dynamic_viscosity / rated_viscosity) * (rated_drop / allowed_drop))
