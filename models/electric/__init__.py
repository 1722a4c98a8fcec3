"""Electric actuators sized to the same demand as the hydraulic system, and actuators a user has measured."""
