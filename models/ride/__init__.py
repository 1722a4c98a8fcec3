"""From a vehicle and its road to what each actuator must do. Knows demand and spec; knows no hydraulics."""
