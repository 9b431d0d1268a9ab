"""Drawings of voicings, regions and sheets as SVG.

Conventions. Chord diagrams follow the trade: strings vertical, string 6 left (right if
left-handed), × muted, ○ open, the fret number beside the first fret shown. Ours: the anchor region
is a soft band, the root a filled square, other tones circles carrying their degree, notes of the
shape that are not played outlined and faint, fingers under the strings. Every drawing says in words
what it shows (title and description) and carries no ids and no styles, so that any number of them
can stand on a page under a strict Content-Security-Policy. Presentation attributes give the light
theme; a page's stylesheet overrides them by class.
"""
