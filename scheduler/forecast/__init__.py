"""Forecasts of the air from files: Open-Meteo JSON, EPW typical years, tables.

All give rows as a logger's file does. Open-Meteo and EPW speak of the air outdoors, a table of the
room itself unless the person says otherwise.
"""

from scheduler.forecast.read import read
from scheduler.forecast.rows import Forecast

__all__ = ["Forecast", "read"]
