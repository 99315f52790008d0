"""All worksheets by name."""

from types import MappingProxyType

from bot.calc import (
    air,
    airflow,
    atmosphere,
    battery,
    build_up,
    chassis,
    compressor,
    cooling,
    cranking,
    driveline,
    electrics,
    engine,
    fasteners,
    reserve,
    sensors,
    trend,
    tyres,
    workshop,
)
from bot.calc.sheet import Sheet

DRAWERS = MappingProxyType(
    {
        "air": (
            *air.SHEETS,
            *build_up.SHEETS,
            *reserve.SHEETS,
            *compressor.SHEETS,
            *airflow.SHEETS,
            *atmosphere.SHEETS,
        ),
        "tyres": tyres.SHEETS,
        "electrics": (
            *electrics.SHEETS,
            *cranking.SHEETS,
            *battery.SHEETS,
            *sensors.SHEETS,
        ),
        "engine and cooling": (*engine.SHEETS, *cooling.SHEETS),
        "brakes, axles, bolts": (
            *chassis.SHEETS,
            *driveline.SHEETS,
            *fasteners.SHEETS,
        ),
        "workshop": (*workshop.SHEETS, *trend.SHEETS),
    }
)
"""The sheets of each part of the trade."""

SHEETS = MappingProxyType(
    {sheet.name: sheet for sheets in DRAWERS.values() for sheet in sheets}
)


def sheet(name: str) -> Sheet | None:
    """The sheet of that name, or None."""
    return SHEETS.get(name)
