"""Parts that are better or worse than the tables say: a catalogue with factors on its machines and its friction.

For whoever asks what would change a result. A machine of twice the motor constant gives twice the torque at the same
heat. Friction is of what rubs: seal rings and the pump's own; the drag of oil in a clearance follows from the oil and
stays. Knows no demand and takes no decision.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from models.sizing.catalogue import Catalogue


@dataclass(frozen=True)
class PartFactors:
    """Factors on every motor's constant and on all that rubs; 1 is as the tables say."""

    motor_constant: float = 1.0
    friction: float = 1.0


AS_LISTED = PartFactors()


def factored(catalogue: Catalogue, factors: PartFactors) -> Catalogue:
    """The catalogue with the factors applied."""
    if factors == AS_LISTED:
        return catalogue
    motors, cylinders, pumps = catalogue.motors, catalogue.cylinders, catalogue.pumps
    return replace(
        catalogue,
        motors=motors._replace(
            rated_torque=motors.rated_torque * factors.motor_constant,
            peak_torque=motors.peak_torque * factors.motor_constant,
        ),
        cylinders=cylinders._replace(friction_coefficient=cylinders.friction_coefficient * factors.friction),
        pumps=pumps._replace(coulomb=pumps.coulomb * factors.friction, constant=pumps.constant * factors.friction),
    )
