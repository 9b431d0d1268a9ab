"""Ready-made forms: blues, turnarounds, vamps and the common cycles of four chords.

Each form is a number chart or a row of Roman numerals. It is read like any other chart, in a key of the form's mode.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from cards.charts.chart import Chart, ChartError, Options
from cards.charts.reading.reader import read_chart
from cards.messages import echo
from cards.theory.keys import Key, Mode

FEELS = ("straight", "shuffle")


@dataclass(frozen=True)
class Form:
    """A form: its name, its mode, its bars as a number chart or as Roman numerals, and its feel."""

    name: str
    mode: Mode
    bars: str
    feel: str = "straight"


def _name_forms(mode: Mode, rows: dict[str, str], feel: str = "straight") -> dict[str, Form]:
    return {name: Form(name, mode, bars, feel) for name, bars in rows.items()}


FORMS: dict[str, Form] = {
    **_name_forms(
        Mode.BLUES,
        {
            "12-bar blues": "1 1 1 1  4 4 1 1  5 4 1 5",
            "12-bar blues, quick change": "1 4 1 1  4 4 1 1  5 4 1 5",
            "8-bar blues": "1 5 4 4  1 5 (1 4) (1 5)",
            "blues turnaround": "(1 1/3) (4 #4o7) (1/5 5) 1",
            "one-chord blues vamp": "1 1 1 1",
        },
        "shuffle",
    ),
    **_name_forms(Mode.MINOR, {"minor blues": "i7 i7 i7 i7  iv7 iv7 i7 i7  bVI7 V7 i7 V7"}, "shuffle"),
    **_name_forms(
        Mode.MAJOR,
        {
            "turnaround 1 6 2 5": "1 6- 2-7 57",
            "turnaround 3 6 2 5": "3-7 67 2-7 57",
            "turnaround with a passing chord": "1 #1o7 2-7 57",
            "two five one": "2-7 57 1maj7 1maj7",
            "vamp 1 4": "1 4",
            "vamp 1 5": "1 5",
            "vamp 1 ♭7": "1 b7",
            "vamp 1 2": "1 2-",
            "cycle 1 5 6 4": "1 5 6- 4",
            "cycle 6 4 1 5": "6- 4 1 5",
            "cycle 1 6 4 5": "1 6- 4 5",
            "cycle 1 4 6 5": "1 4 6- 5",
            "cycle 1 4 5 4": "1 4 5 4",
            "cycle 1 3 4 5": "1 3- 4 5",
            "cycle 1 ♭7 4 1": "1 b7 4 1",
        },
    ),
    **_name_forms(
        Mode.MINOR,
        {
            "minor turnaround": "i (iiø7 V7)",
            "minor vamp 1 4": "i7 IV7",
            "minor vamp 1 ♭7": "i bVII",
            "minor cycle 1 ♭6 ♭3 ♭7": "i bVI bIII bVII",
            "minor cycle 1 ♭7 ♭6 5": "i bVII bVI V",
            "minor cycle 1 4 5": "i iv V7 i",
        },
    ),
}
"""All forms by name."""


def form(name: str, key: Key, feel: str | None = None) -> Chart:
    """Return a form as a chart on the tonic of a key. ``feel`` overrules the usual feel of the form.

    Raises ChartError for a form or a feel that does not exist.

    >>> chart = form("12-bar blues", Key.read("A"))
    >>> [str(chart.sounding(*step)) for step in chart.changes][:5], str(chart.key), chart.feel
    (['A7', 'A7', 'A7', 'A7', 'D7'], 'A blues', 'shuffle')
    """
    found = FORMS.get(name)
    if found is None:
        raise ChartError('no form "{name}": there are {forms}', name=echo(name), forms=", ".join(FORMS))
    if feel is not None and feel not in FEELS:
        raise ChartError('no feel "{feel}": write {feels}', feel=echo(feel), feels=" or ".join(FEELS))
    options = Options(key=Key(key.tonic, found.mode), minor_from="tonic")
    chart = read_chart(found.bars, options)
    return replace(chart, title=name, feel=feel or found.feel, time="4/4", guesses=(), assumptions=())
