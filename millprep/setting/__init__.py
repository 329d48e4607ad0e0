"""From part axes to setup axes: lays, turning, holding, zeroing, skew."""
