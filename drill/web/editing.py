"""Read what the chart editor sends, and return how the text was read, for the page to show beside it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any, Final

from cards.charts import CHOICES, MOST_BYTES, Chart, ChartError, Guess, Options, read_chart
from cards.charts.forms import FEELS
from cards.messages import echo
from cards.theory.keys import Key, KeyNameError
from drill.incoming.reading import finite
from drill.players.preferences import TEMPO
from drill.web.charts import chart_json
from drill.web.guard import ApiError
from drill.words import gettext as _
from drill.words import mark, say, say_choice, say_error

HIGHEST_CAPO: Final = 11
CAPO_CHORDS: Final = ("shapes", "sounding")
"""What the chords of a text can be when a capo is chosen beside it."""


def chart_of_text(body: Mapping[str, Any]) -> Chart:
    """Return the chart of the editor: its text, and what the player chose beside it. Raises ApiError."""
    text = body.get("text")
    if not isinstance(text, str):
        raise ApiError(422, _("text is the chart as it is written"), field="text")
    if len(text.encode(errors="replace")) > MOST_BYTES:
        too_long = _("a chart has at most {most} kB: take one song at a time").format(most=MOST_BYTES // 1000)
        raise ApiError(422, too_long, field="text")
    options = _options(body.get("options", {}))
    try:
        chart = _behind_capo(text, options, body)
    except ChartError as error:  # The metre is the only option that is read together with the text.
        raise ApiError(422, say_error(error), field="time") from error
    tempo, feel = (body.get(name) for name in ("tempo", "feel"))
    if tempo is not None:
        chart = replace(chart, tempo=_within(tempo, "tempo", mark("a tempo is from {low} to {high}"), *TEMPO))
    if feel is not None:
        if feel not in FEELS:
            other = _('no feel "{feel}": write {feels}').format(feel=echo(feel), feels=say_choice(FEELS))
            raise ApiError(422, other, field="feel")
        chart = replace(chart, feel=feel)
    return chart


def _behind_capo(text: str, options: Options, body: Mapping[str, Any]) -> Chart:
    """Read the text with the capo that was chosen beside it. Raises ApiError.

    The chords of the text are ``shapes`` behind the capo, or ``sounding`` chords. If the player has not said which,
    and the text has a capo of its own, the chords sound as before.
    """
    capo, chords = body.get("capo"), body.get("capo_chords")
    if capo is None:
        return read_chart(text, options)
    fret = _within(capo, "capo", mark("a capo is at fret {low} to {high}"), 0, HIGHEST_CAPO)
    if fret != int(fret):
        raise ApiError(422, _("a capo is at a whole fret"), field="capo")
    if chords not in (None, *CAPO_CHORDS):
        kinds = _("chords behind a capo are {kinds}").format(kinds=say_choice(CAPO_CHORDS))
        raise ApiError(422, kinds, field="capo")
    if chords != "shapes":
        chart = read_chart(text, options)
        if chords == "sounding" or chart.capo or chart.options.names is None:
            return chart.with_capo(int(fret))
    return read_chart(text, replace(options, capo=int(fret)))


def _within(value: object, field: str, sentence: str, low: int, high: int) -> float:
    number = finite(value)
    if number is None or not low <= number <= high:
        raise ApiError(422, _(sentence).format(low=low, high=high), field=field)
    return number


def _options(given: object) -> Options:
    if not isinstance(given, Mapping):
        raise ApiError(422, _("options are an object"), field="options")
    options = Options()
    try:
        for name, value in given.items():
            if value is not None and name not in ("key", "time"):
                options = options.choose(str(name), str(value))
    except ChartError as error:
        raise ApiError(422, say_error(error), field="options") from error
    if given.get("key") is not None:
        options = replace(options, key=read_key(given["key"]))
    return options if given.get("time") is None else replace(options, time=str(given["time"]))


def read_key(text: object) -> Key:
    """Read a key. Raises ApiError."""
    try:
        return Key.read(str(text))
    except KeyNameError as error:
        raise ApiError(422, say_error(error), field="key") from error


def reading_json(chart: Chart) -> dict[str, Any]:
    """Return a chart and how it was read."""
    return {
        "chart": chart_json(chart),
        "title_given": chart.title_given,
        "key_given": chart.key_given,
        "keys": [
            {"key": str(fit.key), "share": round(fit.share, 3), "confidence": round(fit.confidence, 3)}
            for fit in chart.keys
        ],
        "tokens": chart.tokens,
        "unread": [
            {"line": token.place.line, "column": token.place.column, "text": token.text} for token in chart.unread
        ],
        "guesses": [_guess_json(guess) for guess in chart.guesses],
        "assumptions": [say(assumption) for assumption in chart.assumptions],
        "options": options_json(chart.options),
    }


def options_json(options: Options) -> dict[str, str]:
    """Return the chosen options of :data:`cards.charts.CHOICES`, without the key."""
    names = (option.name for option in fields(options) if option.name in CHOICES)
    return {name: value for name in names if (value := getattr(options, name)) is not None}


def _guess_json(guess: Guess) -> dict[str, Any]:
    """Return a guess, and what to send or write for the other reading."""
    place = guess.place
    return {
        "says": say(guess.message),
        "line": place.line if place else None,
        "column": place.column if place else None,
        "text": dict(guess.message.values).get("text"),
        "option": guess.option,
        "rewrite": guess.rewrite,
    }
