// Made by tests/spellings.py from what the service reads; not to be changed by hand.

/**
 * The spellings of each quality, parted by blanks, by the suffix that is printed.
 * @type {Record<string, string>}
 */
export const SPELLINGS = {
  "": " maj Maj MAJ major Major ma Ma M",
  "5": "5 no3 omit3 no3rd omit3rd 5no3 5omit3 5no3rd 5omit3rd",
  "7": "7 dom7",
  "7no3": "7no3 7omit3 7no3rd 7omit3rd dom7no3 dom7omit3 dom7no3rd dom7omit3rd",
  "m": "m - min Min MIN minor Minor mi Mi",
  "m7": "m7 -7 min7 Min7 MIN7 minor7 Minor7 mi7 Mi7",
  "m7♭5": "ø ø7 Ø Ø7 half-dim half-dim7 halfdim halfdim7 half-diminished half-diminished7 halfdiminished halfdiminished7 m7b5 m7♭5 m7-5 -7b5 -7♭5 -7-5 min7b5 min7♭5 min7-5 Min7b5 Min7♭5 Min7-5 MIN7b5 MIN7♭5 MIN7-5 minor7b5 minor7♭5 minor7-5 Minor7b5 Minor7♭5 Minor7-5 mi7b5 mi7♭5 mi7-5 Mi7b5 Mi7♭5 Mi7-5",
  "maj7": "maj7 Maj7 MAJ7 major7 Major7 ma7 Ma7 M7 Δ Δ7 △ △7 ^ ^7 j7 7M 7maj",
  "maj7no3": "7Mno3 7Momit3 7Mno3rd 7Momit3rd 7majno3 7majomit3 7majno3rd 7majomit3rd maj7no3 maj7omit3 maj7no3rd maj7omit3rd Maj7no3 Maj7omit3 Maj7no3rd Maj7omit3rd MAJ7no3 MAJ7omit3 MAJ7no3rd MAJ7omit3rd major7no3 major7omit3 major7no3rd major7omit3rd Major7no3 Major7omit3 Major7no3rd Major7omit3rd ma7no3 ma7omit3 ma7no3rd ma7omit3rd Ma7no3 Ma7omit3 Ma7no3rd Ma7omit3rd M7no3 M7omit3 M7no3rd M7omit3rd Δ7no3 Δ7omit3 Δ7no3rd Δ7omit3rd △7no3 △7omit3 △7no3rd △7omit3rd ^7no3 ^7omit3 ^7no3rd ^7omit3rd j7no3 j7omit3 j7no3rd j7omit3rd Δno3 Δomit3 Δno3rd Δomit3rd △no3 △omit3 △no3rd △omit3rd ^no3 ^omit3 ^no3rd ^omit3rd",
  "°": "dim Dim DIM ° o diminished Diminished mb5 m♭5 m-5 -b5 -♭5 --5 minb5 min♭5 min-5 Minb5 Min♭5 Min-5 MINb5 MIN♭5 MIN-5 minorb5 minor♭5 minor-5 Minorb5 Minor♭5 Minor-5 mib5 mi♭5 mi-5 Mib5 Mi♭5 Mi-5",
  "°7": "dim7 Dim7 DIM7 °7 o7 diminished7 Diminished7",
};
