/** A game as this page has it: what the server told, what is picked, what is drafted. It tells its parts when something changed. */

import { ask, askText, NoAnswer } from './api.js';
import { Draft } from './draft.js';
import { Keeping } from './keeping.js';
import { signatureHeader } from './signing.js';
import { watch } from './stream.js';

/** @typedef {import('./types.js').Unit} Unit */
/** @typedef {import('./types.js').News} News */
/** @typedef {import('./poses.js').Member} Member */
/** @typedef {'table' | 'news' | 'clock' | 'selection' | 'draft' | 'verdict' | 'live' | 'link' | 'mode' | 'story' | 'posting'} Topic */

export class Game extends EventTarget {
  /**
   * @param {string} id
   * @param {import('./types.js').HeldKey | null} seat whose eyes it is seen with; null: a spectator's without a key
   */
  constructor(id, seat) {
    super();
    this.id = id;
    this.seat = seat;
    this.keeping = new Keeping(id, seat?.seat ?? seat?.id ?? 'spectator');
    /** @type {import('./types.js').Table} */
    this.table = /** @type {any} */ (null);
    /** @type {SVGSVGElement} the core's drawing of the table */
    this.drawing = /** @type {any} */ (null);
    /** @type {Map<string, SVGGraphicsElement>} the units of the drawing by their keys */
    this.shapes = new Map();
    /** @type {import('./types.js').Clock | null} */
    this.clock = null;
    /** @type {News[]} */
    this.news = [];
    /** @type {string[]} own units that are picked */
    this.picked = [];
    /** @type {string | null} any unit that is looked at */
    this.looked = null;
    /** @type {number | null} the event after which the table is shown; null: now */
    this.at = null;
    /** @type {'move' | 'battle' | 'tape'} what a tap on the table means */
    this.mode = 'move';
    this.isPickingMore = false;
    this.isHeard = true;
    /** @type {Draft | null} */
    this.draft = null;
    /** The player turn that the draft is for, or in which there is none. */
    this.draftedTurn = 0;
    this.stop = () => {};
    /** Counts pictures asked for, so that an old one that comes late is dropped. */
    this.pictures = 0;
  }

  get key() {
    return this.seat?.id ?? null;
  }

  /** The side whose orders are written here; null for everybody else. */
  get side() {
    return this.seat?.role === 'player' ? this.seat.side ?? null : null;
  }

  get isMyTurn() {
    return this.side !== null && this.table.to_move === this.side;
  }

  /** Whether a sheet can be written here now. */
  get mayWrite() {
    return this.isMyTurn && this.at === null && this.draft !== null;
  }

  /**
   * @param {Topic[]} topics
   * @param {() => void} listener
   */
  on(topics, listener) {
    this.addEventListener('change', (event) => {
      if (topics.includes(/** @type {CustomEvent} */ (event).detail)) listener();
    });
  }

  /** @param {Topic} topic */
  tell(topic) {
    // While the game is fetched there is nothing to show.
    if (!this.table) return;
    this.dispatchEvent(new CustomEvent('change', { detail: topic }));
  }

  /** @param {string} rest */
  path(rest) {
    return `/v1/games/${this.id}${rest}`;
  }

  /**
   * @param {string} rest
   * @param {import('./api.js').Asking} [asking]
   */
  ask(rest, asking = {}) {
    return ask(this.path(rest), { key: this.key, ...asking });
  }

  /**
   * Does something in the game that stands in its record.
   * @param {string} rest
   * @param {string} kind what it is called where it is signed
   * @param {unknown} [json] none: without a body
   * @param {string} [method]
   */
  async act(rest, kind, json, method = 'POST') {
    const body = json === undefined ? '' : JSON.stringify(json);
    const headers = { 'If-Match': `"${this.table.head.hash}"`, ...(await this.signature(kind, body)) };
    return this.ask(rest, { method, headers, ...(json === undefined ? {} : { raw: body }) });
  }

  /**
   * The signature of a posting by this device, as a header; none where it has no key for the seat.
   * @param {string} kind
   * @param {string} body
   * @param {string} [number] for the dice
   */
  async signature(kind, body, number) {
    if (!this.seat?.seat) return {};
    const { head, player_turn: playerTurn } = this.table;
    return signatureHeader({ game: this.id, seat: this.seat.seat, kind, head: head.hash, playerTurn, attempt: await this.attempt(), body, number });
  }

  /** Which attempt at the player turn this is: 1, until the secret of the dice is renewed. */
  async attempt() {
    const renewed = this.news.filter((item) => item.event === 'secrets-renewed');
    const last = renewed[renewed.length - 1];
    if (!last) return 1;
    const { event } = await this.ask(`/events/${last.number}`);
    return event.player_turn === this.table.player_turn ? Number(event.attempt) : 1;
  }

  async open() {
    await Promise.all([this.loadTable(), this.loadNews(), this.loadClock()]);
    this.beginDraft();
    this.stop = watch({
      game: this.id,
      key: this.key,
      after: () => this.lastNumber,
      onNews: (news) => void this.hear(news),
      onState: (state) => this.link(state),
    });
  }

  close() {
    this.stop();
    this.draft?.close();
  }

  get lastNumber() {
    return this.news.length > 0 ? this.news[this.news.length - 1].number : 0;
  }

  /** The table as of now, or as it was after the event that is shown. */
  async loadTable() {
    this.pictures += 1;
    const picture = this.pictures;
    const at = this.at === null ? '' : `at=${this.at}`;
    const since = this.at === null || this.at < 2 ? '' : `&since=${this.at - 1}`;
    const [table, drawing] = await Promise.all([
      this.ask(`/table${at ? `?${at}` : ''}`),
      askText(this.path(`/table.svg?map=true${at ? `&${at}${since}` : ''}`), { key: this.key }),
    ]);
    if (picture !== this.pictures) return;
    this.table = table;
    this.drawing = parsed(drawing);
    const shapes = /** @type {NodeListOf<SVGGraphicsElement>} */ (this.drawing.querySelectorAll('.unit[data-unit]'));
    this.shapes = new Map(Array.from(shapes, (shape) => [shape.getAttribute('data-unit') ?? '', shape]));
    this.tell('table');
  }

  async loadNews() {
    for (;;) {
      const page = await this.ask(`/news?after=${this.lastNumber}`);
      this.news.push(...page.news);
      if (!page.more || page.news.length === 0) break;
    }
    this.tell('news');
  }

  async loadClock() {
    this.clock = await this.ask('/clock');
    this.tell('clock');
  }

  /** A draft that was kept, or a new one; none for those who write no orders. */
  beginDraft() {
    this.draft?.close();
    this.draftedTurn = this.table.player_turn;
    this.settlePosting();
    this.draft = this.isMyTurn && !this.table.ended ? new Draft(this) : null;
    this.tell('draft');
  }

  /** A posting whose answer never came has been played when the turn it was for is over: it is not to be sent again. */
  settlePosting() {
    const { posting, draft } = this.keeping;
    if (!posting || posting.playerTurn === this.table.player_turn) return;
    this.keeping.posting = null;
    if (draft?.playerTurn === posting.playerTurn) this.keeping.draft = null;
  }

  /**
   * What happened meanwhile: the table is fetched again, and the draft measured on it.
   * @param {News[]} news
   */
  async hear(news) {
    const fresh = news.filter((item) => item.number > this.lastNumber);
    if (fresh.length === 0) return;
    this.news.push(...fresh);
    this.tell('news');
    if (this.at !== null) return;
    try {
      await Promise.all([this.loadTable(), this.loadClock()]);
    } catch (error) {
      if (error instanceof NoAnswer) return this.link('lost');
      throw error;
    }
    if (this.draftedTurn !== this.table.player_turn || !this.draft) this.beginDraft();
    else this.draft.measureAgain(fresh);
  }

  /** @param {'heard' | 'lost' | 'refused'} state */
  link(state) {
    const heard = state === 'heard';
    if (heard === this.isHeard) return;
    this.isHeard = heard;
    this.tell('link');
  }

  /**
   * Shows the table as it was after an event; null: as it is now.
   * @param {number | null} at
   */
  async show(at) {
    if (at === this.at) return;
    this.at = at !== null && at >= this.lastNumber ? null : at;
    this.picked = [];
    this.tell('story');
    this.tell('selection');
    await this.loadTable();
    if (this.at !== null) return;
    // A turn may have passed while an earlier moment was looked at.
    if (this.draftedTurn !== this.table.player_turn) this.beginDraft();
    else this.draft?.measureAgain([]);
  }

  /**
   * @param {string | null} id
   * @returns {Unit | undefined}
   */
  unit(id) {
    return this.table.units.find((unit) => unit.id === id);
  }

  /** @param {string} id */
  name(id) {
    return this.unit(id)?.name ?? id;
  }

  /** @param {string} key */
  sideName(key) {
    return this.table.sides.find((side) => side.side === key)?.name ?? key;
  }

  /** @param {Unit | undefined} unit */
  isOwn(unit) {
    return unit !== undefined && unit.side === this.side;
  }

  /**
   * Picks a unit, or one more of them.
   * @param {string | null} id
   * @param {boolean} [more]
   */
  pick(id, more = false) {
    const unit = this.unit(id);
    this.looked = unit ? unit.id : null;
    if (!unit || !this.isOwn(unit)) {
      if (!more) this.picked = [];
    } else if (!more) {
      this.picked = [unit.id];
    } else if (this.picked.includes(unit.id)) {
      this.picked = this.picked.filter((other) => other !== unit.id);
    } else {
      this.picked = [...this.picked, unit.id];
    }
    this.tell('selection');
  }

  /** @param {'move' | 'battle' | 'tape'} mode */
  setMode(mode) {
    this.mode = mode;
    this.tell('mode');
  }

  /**
   * A unit as the drawing shows it.
   * @param {string} id
   * @returns {SVGGraphicsElement | null}
   */
  drawn(id) {
    return this.shapes.get(id) ?? null;
  }

  /**
   * The unit's size and where it stands, for the ghost; null when it stands nowhere.
   * @param {string} id
   * @param {import('./types.js').Pose} [pose] where it stands instead: of a unit that arrives
   * @returns {Member | null}
   */
  member(id, pose) {
    const unit = this.unit(id);
    const stands = pose ?? unit?.pose;
    if (!unit || !stands) return null;
    const like = this.drawn(id) ? unit : this.table.units.find((other) => other.troops === unit.troops && this.drawn(other.id));
    const shape = like && this.drawn(like.id);
    if (!like || !shape) return null;
    const wide = Number(shape.getAttribute('data-frontage-mm')) / like.files;
    const deep = Number(shape.getAttribute('data-depth-mm')) / like.ranks;
    return { pose: stands, files: unit.files, bases: unit.bases, baseMm: [wide, deep], frontageMm: wide * unit.files, depthMm: deep * unit.ranks };
  }
}

/**
 * The core's drawing as elements. It has neither scripts nor styles.
 * @param {string} text
 * @returns {SVGSVGElement}
 */
function parsed(text) {
  const page = new DOMParser().parseFromString(text, 'image/svg+xml');
  return /** @type {SVGSVGElement} */ (/** @type {unknown} */ (document.importNode(page.documentElement, true)));
}
