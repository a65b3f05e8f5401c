/**
 * What the browser keeps of a game: the draft, the number for the dice, the posting whose answer is missing, what was read last.
 * Keys are not among it: a session has them, out of reach of scripts.
 */

/** @typedef {import('./types.js').Sheet} Sheet */
/**
 * A draft; `isTyped` when its text is not the sheet's, for the referee has not read it yet or cannot.
 * @typedef {{sheet: Sheet, text: string, isTyped: boolean, head: import('./types.js').Head, playerTurn: number}} Draft
 */
/**
 * A posting as it was sent: the same bytes are sent again when its answer is lost.
 * @typedef {{body: string, head: string, once: string, signature: Record<string, string>, sentAt: string, playerTurn: number}} Posting
 */
/** @typedef {{playerTurn: number, attempt: number, number: string, turnedAway: number}} OwnNumber */

export class Keeping {
  /**
   * @param {string} game
   * @param {string} seat
   * @param {Storage} [storage]
   */
  constructor(game, seat, storage = localStorage) {
    this.prefix = `fieldpost.${game}.${seat}.`;
    this.storage = storage;
  }

  /** @returns {Draft | null} */
  get draft() {
    return this.read('draft');
  }

  /** @param {Draft | null} draft */
  set draft(draft) {
    this.write('draft', draft);
  }

  /** @returns {Posting | null} */
  get posting() {
    return this.read('posting');
  }

  /** @param {Posting | null} posting */
  set posting(posting) {
    this.write('posting', posting);
  }

  /** Number of the last event that was told; 0: none. */
  get read_last() {
    return this.read('read-last') ?? 0;
  }

  set read_last(number) {
    this.write('read-last', number);
  }

  /**
   * The poster's own number for the dice of an attempt at a player turn: made once, and kept before it is shown, through every
   * answer and every lost one. Another number for the same dice would let a host choose between two throws.
   * @param {number} playerTurn
   * @param {number} attempt
   * @returns {OwnNumber}
   */
  number(playerTurn, attempt) {
    /** @type {OwnNumber | null} */
    const kept = this.read('number');
    if (kept && kept.playerTurn === playerTurn && kept.attempt === attempt) return kept;
    const fresh = { playerTurn, attempt, number: randomHex(32), turnedAway: 0 };
    this.write('number', fresh);
    return fresh;
  }

  /** Notes that a posting which showed the number was turned away. */
  noteTurnedAway() {
    /** @type {OwnNumber | null} */
    const kept = this.read('number');
    if (kept) this.write('number', { ...kept, turnedAway: kept.turnedAway + 1 });
  }

  /**
   * @param {string} name
   * @returns {any}
   */
  read(name) {
    const text = this.storage.getItem(this.prefix + name);
    if (text === null) return null;
    try {
      return JSON.parse(text);
    } catch {
      return null;
    }
  }

  /**
   * @param {string} name
   * @param {unknown} value
   */
  write(name, value) {
    if (value === null) this.storage.removeItem(this.prefix + name);
    else this.storage.setItem(this.prefix + name, JSON.stringify(value));
  }
}

/**
 * Random bytes of the browser's own source, in hexadecimal.
 * @param {number} bytes
 */
export function randomHex(bytes) {
  return Array.from(crypto.getRandomValues(new Uint8Array(bytes)), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/** Forgets all drafts and numbers of this browser: for a device that is not one's own. */
export function forgetAll(storage = localStorage) {
  const names = Array.from({ length: storage.length }, (_, at) => storage.key(at) ?? '');
  for (const name of names.filter((name) => name.startsWith('fieldpost.'))) storage.removeItem(name);
}
