"""Planting: beds divided into drifts, plants placed and counted, schedule, months and clarity."""
