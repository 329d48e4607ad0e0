"""What everything stands on: findings, units, files written whole. Standard library only."""
