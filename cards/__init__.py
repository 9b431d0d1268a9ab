"""Pure music for the guitar: keys, chords, the neck, voicings, questions about them.

Values in, values out. Nothing here reads a clock, a file, a database or a request, and every
value is immutable, so the same call gives the same answer in every process.
"""
