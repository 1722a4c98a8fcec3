"""What both sides of the comparison share: winding, rotary machine, motor drive, battery."""
