"""Drawings of voicings, regions and sheets as SVG.

Conventions. Chord diagrams follow the trade: strings are vertical, string 6 is on the left (on the right if
left-handed), × is a muted string, ○ an open one, and the number of the first fret shown stands beside it.
The rest is our own: a soft band is the anchor region, a filled square the root, a circle any other tone with
its degree in it. Notes of the shape that are not played are faint outlines. Fingers stand under the strings.

Every drawing has a title and a description that say in words what it shows. It has no ids and no styles, so
that any number of drawings can stand on one page under a strict Content-Security-Policy. Its presentation
attributes are those of the light theme; a page's stylesheet overrides them by class.
"""
