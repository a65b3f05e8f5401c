/** Undoing and doing again. */

/** The most that can be undone. */
const MOST = 200;

/** @template T */
export class History {
  /** @param {T} first */
  constructor(first) {
    this.now = first;
    /** @type {T[]} */
    this.before = [];
    /** @type {T[]} */
    this.after = [];
  }

  /**
   * Goes on from here; what was undone can not be done again any more.
   * @param {T} next
   */
  add(next) {
    this.before.push(this.now);
    if (this.before.length > MOST) this.before.shift();
    this.now = next;
    this.after = [];
  }

  /**
   * The state before; null when there is none.
   * @returns {T | null}
   */
  undo() {
    const last = this.before.pop();
    if (last === undefined) return null;
    this.after.push(this.now);
    this.now = last;
    return last;
  }

  /**
   * The state that was undone last; null when there is none.
   * @returns {T | null}
   */
  redo() {
    const next = this.after.pop();
    if (next === undefined) return null;
    this.before.push(this.now);
    this.now = next;
    return next;
  }

  get canUndo() {
    return this.before.length > 0;
  }

  get canRedo() {
    return this.after.length > 0;
  }
}
