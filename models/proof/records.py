"""What a proof says: metrics with limit and margin, events with their time, traces, the run's ledger, shortfalls.

Records only, written to the wire by `models.quantity.to_wire`. Values whose unit varies stand in the unit beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from models.demand import Shortfall
from models.quantity import on_wire
from models.sizing.design import Ledger

Seconds = Annotated[float, on_wire("s")]
Share = Annotated[float, on_wire("")]


@dataclass(frozen=True)
class Metric:
    """One measure of a run. `value` and `limit` are in `unit`; margin is what is left of the limit, 0 at it."""

    name: str
    concerns: str
    value: float
    limit: float | None
    unit: str
    margin: Share | None
    met: bool
    about: str


@dataclass(frozen=True)
class Event:
    """Something that happened once: what, where, when it first did."""

    name: str
    concerns: str
    time: Seconds
    text: str
    ends_proof: bool


@dataclass(frozen=True)
class Trace:
    """One course over the times of its duty, in `unit`."""

    name: str
    concerns: str
    unit: str
    values: tuple[float, ...]


@dataclass(frozen=True)
class Gains:
    """How one corner is controlled, as derived from the design."""

    concerns: str
    sample_time: Annotated[float, on_wire("ms")]
    pressure_feedback: Annotated[float, on_wire("per_s", about="Rate asked per force error")]
    velocity_feed_forward: Annotated[float, on_wire("", about="Share of the flow of the piston's motion given ahead")]
    velocity_lead: Annotated[
        float, on_wire("ms", about="By which the feed-forward runs ahead: spool lag, half a sample")
    ]
    position_gain: Annotated[float, on_wire("per_s", about="Piston speed per position error, for a rig")]
    derived_from: str


@dataclass(frozen=True)
class DutyProof:
    """One duty run with one seed."""

    label: str
    kind: str
    seed: int
    duration: Seconds
    settle: Annotated[float, on_wire("s", about="At the beginning, counted in no statistic")]
    passed: bool
    metrics: tuple[Metric, ...]
    events: tuple[Event, ...]
    ledger: Ledger
    steps: int
    steps_rejected: int


@dataclass(frozen=True)
class Spectrum:
    """Body acceleration over frequency, mean over the corners by sprung mass: density in (m/s²)²/Hz."""

    name: str
    frequency: tuple[Annotated[float, on_wire("hz")], ...]
    density: tuple[Share, ...]


@dataclass(frozen=True)
class DutyTraces:
    """Courses of one run at instants spread evenly over it, and spectra of its ride; no average is taken."""

    label: str
    kind: str
    seed: int
    time: tuple[Seconds, ...]
    traces: tuple[Trace, ...]
    spectra: tuple[Spectrum, ...]


@dataclass(frozen=True)
class Spread:
    """How far a metric's value varies between seeds, or is expected to for a run of this length."""

    name: str
    concerns: str
    relative: Share
    from_seeds: int


@dataclass(frozen=True)
class Proof:
    """A design run in the time domain: each duty's run, what fell short, and what the run does not know."""

    verdict: Literal["holds", "fails"]
    summary: str
    duties: tuple[DutyProof, ...]
    shortfalls: tuple[Shortfall, ...]
    gains: tuple[Gains, ...]
    spread: tuple[Spread, ...]
    temperature: Annotated[float, on_wire("c", about="Of the oil during the run")]
    not_modelled: tuple[str, ...]

    @property
    def passed(self) -> bool:
        """Whether every run kept every limit."""
        return self.verdict == "holds"
