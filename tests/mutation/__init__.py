"""Whether tests would notice: small faults are planted one at a time, by hand (`make mutation`)."""
