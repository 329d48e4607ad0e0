"""The sums of the trade as pure functions: cutting, fastening, fits of pins, chance."""
