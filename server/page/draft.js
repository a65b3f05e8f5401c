/**
 * The sheet being written. What is dragged and what is typed are one sheet: the referee writes the text of what was dragged and
 * reads the text that was typed. Every change is kept in the browser at once, and measured.
 */

import { ask, NoAnswer, Problem } from './api.js';
import { Asker } from './asker.js';
import { History } from './history.js';
import { blank, forTurn } from './sheet.js';

/** @typedef {import('./types.js').Sheet} Sheet */
/** @typedef {import('./types.js').Checked} Checked */
/** @typedef {{sheet: Sheet} | {text: string}} Question */

export class Draft {
  /** @param {import('./game.js').Game} game */
  constructor(game) {
    this.game = game;
    const kept = game.keeping.draft;
    const isOfThisTurn = kept !== null && kept.playerTurn === game.table.player_turn;
    /** What was written for an earlier turn and not posted; told once. */
    this.isOld = kept !== null && !isOfThisTurn && kept.sheet.orders.length > 0;
    const first = isOfThisTurn ? kept.sheet : blank(game.table);
    this.history = new History(first);
    this.text = isOfThisTurn ? kept.text : '';
    /** Whether the text is one the player types and the referee has not read yet. */
    this.isTyped = isOfThisTurn && kept.isTyped;
    /** @type {Checked | null} */
    this.checked = null;
    /** @type {Sheet | null} the sheet that the verdict is of */
    this.measured = null;
    /** @type {import('./types.js').Fault[]} what cannot be read in the text */
    this.faults = [];
    /** @type {string | null} */
    this.trouble = null;
    /** @type {string[]} what the other side's posting changed */
    this.changes = [];
    /** @type {Checked | null} the verdict before something happened, until the one after it is known */
    this.before = null;
    /** @type {Asker<Question, Checked>} */
    this.asker = new Asker(
      (question) => this.send(question),
      (question, checked) => this.heard(question, checked),
      (question, error) => this.failed(question, error),
    );
    if (this.isTyped) this.asker.ask({ text: this.text });
    else if (first.orders.length > 0) this.asker.ask({ sheet: first });
  }

  /** @returns {Sheet} */
  get sheet() {
    return this.history.now;
  }

  /** Whether the verdict is that of the sheet as it stands. */
  get isMeasured() {
    return this.checked !== null && this.measured === this.sheet && !this.isTyped;
  }

  close() {
    this.asker.forget();
  }

  /**
   * The sheet after a change by hand.
   * @param {Sheet} sheet
   */
  set(sheet) {
    this.history.add(sheet);
    this.changed();
  }

  /**
   * The sheet as it is typed; it is read when the hand rests.
   * @param {string} text
   */
  type(text) {
    this.text = text;
    this.isTyped = true;
    this.keep();
  }

  /** Has the referee read what was typed. */
  readTyped() {
    if (!this.isTyped) return;
    this.asker.ask({ text: this.text });
    this.game.tell('draft');
  }

  undo() {
    if (this.history.undo()) this.changed();
  }

  redo() {
    if (this.history.redo()) this.changed();
  }

  changed() {
    this.isTyped = false;
    this.faults = [];
    this.keep();
    this.asker.ask({ sheet: this.sheet });
    this.game.tell('draft');
  }

  keep() {
    const { head, player_turn: playerTurn } = this.game.table;
    this.game.keeping.draft = { sheet: this.sheet, text: this.text, isTyped: this.isTyped, head, playerTurn };
  }

  /**
   * Measures the sheet anew after something happened, and tells which orders are judged otherwise.
   * @param {import('./types.js').News[]} news
   */
  measureAgain(news) {
    const before = this.checked;
    this.history.now = forTurn(this.sheet, this.game.table);
    if (news.length > 0 && before) this.before = before;
    this.asker.ask(this.isTyped ? { text: this.text } : { sheet: this.sheet });
  }

  /**
   * @param {Question} question
   * @returns {Promise<Checked>}
   */
  send(question) {
    const path = this.game.path('/check');
    const key = this.game.key;
    return 'text' in question ? ask(path, { key, text: question.text }) : ask(path, { key, json: { sheet: question.sheet } });
  }

  /**
   * @param {Question} question
   * @param {Checked} checked
   */
  heard(question, checked) {
    this.trouble = null;
    this.faults = [];
    if ('text' in question) {
      if (question.text !== this.text) return;
      if (JSON.stringify(checked.sheet) !== JSON.stringify(this.sheet)) this.history.add(checked.sheet);
      this.isTyped = false;
    } else {
      if (question.sheet !== this.sheet || this.isTyped) return;
      this.text = checked.sheet.orders.length > 0 ? checked.typed : '';
    }
    if (this.before) this.changes = differences(this.before, checked, this.game);
    this.before = null;
    this.checked = checked;
    this.measured = this.sheet;
    this.keep();
    this.game.tell('verdict');
  }

  /**
   * @param {Question} question
   * @param {unknown} error
   */
  failed(question, error) {
    if (error instanceof Problem && error.code === 'unreadable-sheet') {
      this.faults = error.body.faults ?? [];
      this.trouble = null;
    } else if (error instanceof NoAnswer) {
      this.game.link('lost');
      this.trouble = error.message;
    } else if (error instanceof Error) {
      this.trouble = error.message;
    }
    if ('text' in question && question.text !== this.text) return;
    this.checked = null;
    this.game.tell('verdict');
  }
}

/**
 * Which orders of a sheet the referee judges otherwise than before.
 * @param {Checked} before
 * @param {Checked} now
 * @param {import('./game.js').Game} game
 * @returns {string[]}
 */
function differences(before, now, game) {
  const changes = [];
  for (const move of now.verdict.moves) {
    const was = before.verdict.moves.find((other) => other.unit === move.unit);
    if (!was) continue;
    if (was.verdict !== move.verdict) {
      const why = move.reasons[0] ? ` ${move.reasons[0].text}` : '';
      changes.push(`${game.name(move.unit)}: ${was.verdict} before, ${move.verdict} now.${why}`);
    } else if (was.charge_mm !== move.charge_mm) {
      changes.push(`${game.name(move.unit)}: it costs ${move.charge_mm} mm now, ${was.charge_mm} mm before.`);
    }
  }
  return changes.length > 0 ? changes : ['Every order is judged as before.'];
}
