// The shapes that the browser code shares: what the service answers, as far as pages read it, and what a page hands
// from one of its parts to another. Only the type check reads this file (tests/js); no page loads it.

/** What the service answers and takes, as JSON. Instants are ISO 8601 or ms since 1970, where nothing else is said. */
declare namespace Api {
  type Outcome = "clean" | "late" | "missed" | "not judged yet";
  type Mode = "keyboard" | "touch" | "mouse" | "hands-on";
  /** [string, fret], fret 0 open. */
  type Place = [number, number];
  /** The group at which a sentence is, or null. */
  interface Problem {
    error?: string;
    field?: string;
    running?: Running;
    jam?: Jam;
    tune?: Tune;
  }

  interface Settings {
    [name: string]: string | number | boolean | string[];
    keys: string[];
    left_handed: boolean;
    tempo: number;
    minutes: number;
    tuning: string;
    capo: number;
    frets: number;
    highest: number;
    switched_off: string[];
    days: string[];
    why: boolean;
    day_start: number;
    zone: string;
  }

  interface Running {
    id: string;
    minutes: number;
    visible_seconds: number;
    tab: string | null;
  }

  interface Player {
    settings: Settings;
    first_visit: boolean;
    running: Running | null;
    today: { minutes: number; seen: number };
    known: number;
    away: string | null;
    jam: { id: string; days: number; words: string } | null;
    groups: Group[];
  }

  /** A group of cards that can be switched off. */
  interface Group {
    name: string;
    cards: number;
  }

  // ---- a session

  interface Session {
    id: string;
    minutes: number;
    visible_seconds: number;
    tab: string | null;
    ended: boolean;
    beat_seconds: number;
    tempo: number;
    settings: Settings;
    questions: Question[];
  }

  interface Question {
    question: number;
    card: string;
    after: number | null;
    prompt: Prompt;
    answer: Answer;
    allowed: Record<Mode, number>;
    reason: string;
    review: Review | null;
  }

  type Part = "name" | "frets" | "number" | "hands" | "choice" | "spots" | "notes" | "marks";

  interface Prompt {
    ask: string;
    key: string | null;
    number: string | null;
    seventh: boolean;
    box: number | null;
    sentence: string;
    parts: Part[];
    /** The low and the high fret of the region. */
    hint: [number, number] | null;
    choices: Choice[];
    drawing: string | null;
    spots: Place[] | null;
    steps: string[];
    beats: number[];
    rootless: boolean;
    at_nut: boolean;
  }

  /** A group of options, each `[id, label]`. */
  interface Choice {
    about: string;
    options: [string, string][];
  }

  interface Answer {
    chord: string;
    notes: string[];
    names: string[];
    numbers: string[];
    frets: string[];
    choices: string[][];
    spots: Place[][][];
    drawing: string | null;
    description: string;
  }

  /** What a player gives, part by part. */
  interface Given {
    name?: string;
    frets?: (number | null)[];
    number?: string;
    choice?: (string | null)[];
    spots?: Place[][];
    notes?: string[];
    marks?: boolean[];
    hands?: undefined;
    right?: boolean;
    shown?: boolean;
    hinted?: boolean;
  }

  interface Verdict {
    right: boolean | null;
    outcome: Outcome;
    seconds: number | null;
    allowed: number;
    words: string[];
    drawing: string | null;
  }

  interface Review extends Verdict {
    id: string;
    mistap: boolean;
  }

  /** What became of an answer that was sent. */
  interface Item extends Verdict {
    id: string;
    status: string;
    reason: string;
  }

  interface Batch {
    items: Item[];
    next: Question[];
    order: number[];
    here: boolean;
    over: boolean;
  }

  /** A session whose player's hand is tired: the questions that are no longer asked, and those that are. */
  interface Rested {
    dropped: number[];
    next: Question[];
    order: number[];
    over: boolean;
  }

  interface ClosingCard {
    ask: string;
    drawing: string | null;
    number: string;
    key: string;
    box: number | null;
    sentence: string;
  }

  interface Closing {
    seconds: number;
    missed: ClosingCard[];
    late: ClosingCard[];
    clean: ClosingCard[];
    next: string | string[];
  }

  // ---- charts and tunes

  interface Change {
    number: string;
    chord: string;
    shape: string | null;
    beats: number;
    rest: boolean;
    optional: boolean;
    pushed: boolean;
    held: boolean;
    move?: number;
  }

  interface Section {
    name: string;
    key: string;
    bars: Change[][];
  }

  interface Chart {
    title: string | null;
    key: string;
    minor: boolean;
    capo: number;
    shape_key: string;
    time: string | null;
    tempo: number | null;
    feel: string | null;
    sections: Section[];
  }

  /** How a text is to be read, as far as it was said. */
  type Options = Record<string, string | number | null | undefined>;

  interface Fit {
    key: string;
    confidence: number;
    share: number;
  }

  interface Guess {
    says: string;
    line: number;
    column: number;
    text: string;
    option: [string, string] | null;
    rewrite: string;
  }

  interface Reading {
    chart: Chart;
    title_given: boolean;
    tokens: number;
    unread: { line: number; column: number; text: string }[];
    keys: Fit[];
    options: { names: boolean; slash: boolean };
    guesses: Guess[];
    assumptions: string[];
  }

  interface Tune {
    id: string;
    title: string;
    text: string;
    key: string;
    tempo: number | null;
    feel: string | null;
    bars: number;
    capo: number;
    chords: string[];
    jams: { id: string; name: string }[];
    chart: Chart;
    options: Options;
    changed_at: string;
    deleted: boolean;
  }

  /** What became of a file with songs. */
  interface Brought {
    again?: () => Promise<Brought[]>;
    name: string;
    refused?: string;
    tune?: Tune;
    tokens?: number;
    unread?: number;
    key_given?: boolean;
    key_found?: boolean;
  }

  // ---- jams

  interface JamRow {
    id: string;
    name: string;
    when: string;
    days: number;
    place: string;
    past: boolean;
    tunes: string[];
  }

  interface Jam {
    [name: string]: unknown;
    id: string;
    name: string;
    local: string;
    when: string;
    days: number;
    place: string;
    boxes: number[];
    zone: string;
    past: boolean;
    deleted: boolean;
    entries: Entry[];
    keys: Record<string, string[]>;
  }

  interface Entry {
    id: string;
    tune: string;
    title: string;
    key: string | null;
    tempo: number | null;
    own_key: string;
    mode: string | null;
    calls: { key: string; says: string }[];
    plays_in: string;
    plays_at?: number;
    chords: string[];
    bars: number;
    capo: number;
    deleted?: boolean;
  }

  interface Share {
    percent: number;
    low: number;
    high: number;
    words: string;
    changes: number;
  }

  interface Shaky {
    words: string;
    percent: number;
  }

  interface ReadyTune {
    title: string;
    key: string;
    tempo: number;
    share: Share | null;
    shakiest: Shaky[];
  }

  interface Readiness {
    line: string | null;
    night: Share | null;
    over: boolean;
    words: string[];
    shakiest: Shaky[];
    tunes: ReadyTune[];
  }

  interface Ahead {
    night: Share | null;
    words: string[];
    tunes: (Share | null)[];
  }

  // ---- keys

  interface Cell {
    degree: number;
    called: string;
    chord: string;
    state: "sure" | "unsure" | "new";
    p: number | null;
    low: number;
    high: number;
    answers: number;
  }

  interface KeyRow {
    key: string;
    slug: string;
    cells: Cell[];
  }

  interface KeyMap {
    words: string[];
    keys: KeyRow[];
    weakest: { key: string; degree: number }[];
  }

  interface CellView {
    title: string;
    words: string;
    focus: string[];
    drawing: string | null;
    course: string | null;
    answers: { days: number; ask: string; box: number | null; seconds: number | null; outcome: Outcome }[];
    cards: { ask: string; detail: string; chord: string; box: number | null; p: number; answers: number; outcome: Outcome }[];
  }

  interface Figure {
    title: string;
    words: string[];
    drawing: string | null;
    heads: string[];
    rows: string[][];
  }

  interface Why {
    words: string[];
    repairs: { skill: string; says: string }[];
    drawing: string | null;
    skills: { says: string; kind: string; gain: number; low: number; high: number; answers: number }[];
  }

  interface Course {
    words: string[];
    figures: Figure[];
    keys: Figure[];
    honest: Figure;
    /** Of a log that is still gone through: how many reviews were, and of how many. */
    reviews: number;
    of?: number;
  }

  // ---- neck

  interface Diagram {
    drawing: string | null;
    description: string;
    wide?: boolean;
  }

  /** A drawing, with what its grip is called and where the index finger is. */
  /** A voicing: what it is called and where the index finger is, and the text that pins it. */
  interface Grip extends Diagram {
    told: string[];
    pin?: string | null;
    pinned?: boolean;
  }

  interface NeckChord extends Grip {
    number: string;
    numeral: string;
    chord: string;
    fretted: string;
    shapes: string[];
    /** The grip with which the hand stays, where the other one moves the index finger. */
    staying: Grip | null;
    others: Grip[];
  }

  interface Way {
    called: string;
    why: string[];
    travel: string;
  }

  interface Neck {
    key: string;
    fretted: string;
    /** 0 for the open position. */
    box: number;
    has_open: boolean;
    title: string;
    tuning: string;
    capo: number;
    drawing: string;
    chords: NeckChord[];
    sevenths: NeckChord[];
    small: { number: string; numeral: string; chord: string; description: string; voicings: (Diagram & { said: string })[] }[];
    route: (Grip & { numeral: string; chord: string; travel_mm: number; pinned: boolean; why: string[] })[];
    way: Way | null;
    /** What was taken for what; for a slash also the other reading. */
    taken: { says: string; slash: string | null; offer: string | null }[];
  }

  // ---- playing along

  interface Move {
    /** [section, bar] */
    at: [number, number];
    beats: number;
    card: string | null;
  }

  interface PlayCard {
    chord: string;
    drawing: string | null;
    description: string;
    granted: number;
  }

  interface Neighbour {
    entry: string;
    tune: string;
    title: string;
  }

  interface PlayPart {
    tune: string;
    title: string;
    tempo: number;
    box: number;
    chart: Chart;
    moves: Move[];
    cards: Record<string, PlayCard>;
    jam: { id: string; name: string } | null;
    before: Neighbour | null;
    after: Neighbour | null;
    settings: Settings;
  }

  interface Played {
    card: string | null;
    beats: number;
    right: boolean;
    seconds?: number | null;
  }
}

/** What pages hand to the makers of elements. */
declare namespace Dom {
  /** What can stand in an element; what is not there is left out. */
  type Child = Node | string | false | 0 | null | undefined;
  type Children = Child | Child[];
  type On<V, E> = V & { currentTarget: E };

  interface Handlers<E> {
    onclick?: (event: On<MouseEvent, E>) => unknown;
    oninput?: (event: On<Event, E>) => unknown;
    onchange?: (event: On<Event, E>) => unknown;
    onsubmit?: (event: On<SubmitEvent, E>) => unknown;
    onkeydown?: (event: On<KeyboardEvent, E>) => unknown;
  }

  type Attributes<E> = Handlers<E> & { [name: string]: unknown };
}

/** What this device keeps. */
declare namespace Kept {
  /** An answer, a mis-tap or a sitting on its way to the service. */
  interface Entry {
    id: string;
    session: string;
    answered_at: number;
    state?: "waiting" | "refused";
    reason?: string;
    tried?: boolean;
    alone?: boolean;
    /** A mis-tap: the review that is taken back. */
    review?: string;
    /** A request of its own: its path, and what it sends. */
    post?: string;
    body?: object;
    question?: number;
    card?: string;
    given?: Api.Given;
    seconds?: number | null;
    mode?: Api.Mode;
  }
}

/** A change of a jam, and who hears of it. */
declare namespace Jams {
  type Name = "name" | "at" | "place" | "boxes";

  interface Values {
    name: string;
    at: string;
    place: string;
    boxes: number[];
  }

  interface ValueChange {
    kind: "value";
    name: Name;
    value: string | number[];
    was: string | number[];
  }

  /** Changes name entries, not places, so they suit a newer list as well. */
  type Change =
    | ValueChange
    | { kind: "add"; id?: undefined; entries: Api.Entry[]; before?: string | null }
    | { kind: "move"; id: string; before: string | null }
    | { kind: "off"; id: string; before?: undefined }
    | { kind: "call"; id: string; before?: undefined; values: Called };

  /** The key or the tempo that is called that night; null for the tune's own. */
  interface Called {
    key?: string | null;
    tempo?: number | null;
  }

  interface Row {
    step(id: string, by: number): void;
    off(id: string): void;
    call(id: string, values: Called): void;
  }
}

/** A tune as time. */
declare namespace Time {
  /** A chord at its beat of the bar. */
  interface Step extends Omit<Api.Change, "move"> {
    move: number | null;
    at: number;
  }


  interface Bar {
    number: number;
    section: number;
    name: string;
    bar: number;
    of: number;
    beats: number;
    steps: Step[];
  }

  interface Range {
    first: number;
    last: number;
  }

  interface Round extends Range {
    loop: boolean;
  }

  interface How extends Round {
    from: number;
    tempo: number;
    feel: string;
  }

  interface Click {
    at: number;
    level: number | null;
  }

  interface Placed extends Click {
    bar: number | null;
    beat: number;
    round: number;
  }

  /** What a run tells the page: where it is, that it is over, why it had to stop, that what is fumbled may differ. */
  interface Calls {
    over(): void;
    paused(why?: string): void;
    marked(): void;
    at(bar: number): void;
  }

  interface Next {
    step: Step;
    bar: Bar;
    bars: number;
  }

  interface KeptMarks {
    played?: [number, number][];
    fumbled?: [number, number[]][];
  }
}

/** The input of one part of an answer. */
declare namespace Input {
  interface Options {
    prompt: Api.Prompt;
    settings: Api.Settings;
    tempo: number;
    beatSeconds: number;
    draft?: unknown;
    last: boolean;
    hinted?: boolean;
    showMe: HTMLButtonElement;
    changed: (draft: unknown) => void;
    done: (value: unknown) => unknown;
    hint: () => void;
    played: (seconds?: number) => void;
    stepped: (step: number) => void;
  }

  interface NameDraft {
    root: string | null;
    quality: string | null;
    written: string;
  }

  /** Notes chord by chord, and the chord that is answered now. */
  interface StepsDraft {
    laid: Api.Place[][];
    at: number;
  }

  /** What had been put in before a reload. */
  interface Draft {
    given?: Api.Given;
    inputs?: Partial<Record<Api.Part, unknown>>;
    played?: { seconds: number | null };
  }

  /** Where a card stands on the page. */
  interface Places {
    main: HTMLElement;
    title: HTMLElement;
    work: HTMLElement;
    tools: HTMLElement;
    ledge: HTMLElement;
  }

  /** What a card tells the page. */
  interface Calls {
    answered(given: Api.Given): void;
    keep(draft: Draft): void;
    played(seconds?: number): void;
    touched(): boolean;
  }

  interface Pad {
    element: HTMLElement | string;
    tools: HTMLElement[];
    ledge: HTMLElement[];
    /** Puts the focus where the answer goes; not after a touch, or the phone's own keyboard would come up. */
    focus(touched: boolean): boolean;
    /** Takes a single key; true if it meant something. */
    key(key: string): boolean;
    /** Enter. */
    check?(): void;
    remove?(): void;
  }
}
