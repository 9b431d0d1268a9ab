"""A chart as pages show it: bars of changes, each with its number, its shape behind the capo and its sounding chord."""

from __future__ import annotations

from typing import Any

from cards.charts import Change, Chart, Section
from cards.charts.notation.numbers import number_name


def chart_json(chart: Chart) -> dict[str, Any]:
    """Return a chart with its sections and bars; ``shape`` is null without a capo, and all names are null in a rest."""
    return {
        "title": chart.title,
        "key": str(chart.key),
        "minor": chart.key.is_minor,
        "shape_key": str(chart.shape_key) if chart.capo else None,
        "capo": chart.capo,
        "tempo": chart.tempo,
        "time": chart.time,
        "feel": chart.feel,
        "sections": [
            {
                "name": section.name,
                "key": str(section.key),
                "bars": [[_change_json(chart, section, change) for change in bar] for bar in section.bars],
            }
            for section in chart.sections
        ],
    }


def _change_json(chart: Chart, section: Section, change: Change) -> dict[str, Any]:
    sounding = chart.sounding(section, change)
    return {
        "number": change.numeral and number_name(change.numeral, section.key, chart.options.minor_from),
        "chord": None if sounding is None else str(sounding),
        "shape": str(chart.shape(section, change)) if chart.capo and sounding is not None else None,
        "beats": change.beats,
        "pushed": change.pushed,
        "held": change.held,
        "optional": change.optional,
        "rest": change.numeral is None,
    }
