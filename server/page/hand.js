/** The hand on a handle: the leg it shows, the ghost it moves, and what the referee says of it, one question behind. */

import { ask, NoAnswer } from './api.js';
import { Asker } from './asker.js';
import { dressed, dressings } from './dressing.js';
import { cut, handleOf, isSameWay, legOf, nudged, snapped, withExtent } from './gestures.js';
import { amount, bodyRectangle, poseOf, rectangle, stations } from './poses.js';
import { legsOf, moveOfAll, withLegs } from './sheet.js';

/** @typedef {import('./types.js').Leg} Leg */
/** @typedef {import('./types.js').OrderVerdict} OrderVerdict */
/** @typedef {import('./poses.js').Member} Member */
/** @typedef {import('./gestures.js').Handle} Handle */
/** @typedef {{legs: Leg[], isProbe: boolean}} Question */

/** How many pixels of the screen a hand may be past a limit and be brought back to it. */
const CATCH_PX = 18;

export class Hand {
  /**
   * @param {import('./game.js').Game} game
   * @param {() => number} mmOfPixel millimetres of table that a pixel of the screen is wide
   */
  constructor(game, mmOfPixel) {
    this.game = game;
    this.mmOfPixel = mmOfPixel;
    /** @type {string[]} */
    this.units = [];
    /** @type {Leg[]} legs before the one in the hand */
    this.before = [];
    /** @type {Member[]} where they end */
    this.from = [];
    /** @type {Handle | null} */
    this.handle = null;
    /** @type {Leg | null} the leg in the hand */
    this.leg = null;
    this.held = { x: 0, y: 0 };
    /** @type {import('./poses.js').Point | null} where the hand is */
    this.point = null;
    /** @type {Leg | null} the leg with which this drag goes on */
    this.began = null;
    this.isByKey = false;
    /** @type {number | null} how far the leg may go, as far as the referee has told */
    this.limit = null;
    this.limitOf = '';
    /** @type {string} what stops it there */
    this.stoppedBy = '';
    /** @type {OrderVerdict | null} */
    this.verdict = null;
    /** @type {Asker<Question, OrderVerdict>} */
    this.asker = new Asker(
      (question) => this.send(question),
      (question, answer) => this.heard(question, answer),
      (_, error) => {
        if (error instanceof NoAnswer) game.link('lost');
      },
    );
  }

  get isHeld() {
    return this.handle !== null;
  }

  /**
   * The legs of the picked units, with the amounts that the referee found for those that stop by themselves.
   * @param {string[]} units
   * @returns {{start: Member[], legs: Leg[]} | null}
   */
  settled(units) {
    const { draft } = this.game;
    if (!draft) return null;
    const place = moveOfAll(draft.sheet, units);
    const verdict = draft.checked?.verdict.moves.filter((move) => move.order === place) ?? [];
    const start = [];
    for (const unit of units) {
      const told = verdict.find((move) => move.unit === unit)?.start;
      const arrives = this.game.unit(unit)?.state === 'waiting';
      const member = this.game.member(unit, arrives && told ? poseOf(told) : undefined);
      if (!member) return null;
      start.push(member);
    }
    const ledgers = verdict[0]?.legs ?? [];
    const legs = legsOf(draft.sheet, units).map((leg, at) => resolved(leg, ledgers[at]));
    return { start, legs };
  }

  /**
   * Takes hold. A handle that made the last leg goes on with it.
   * @param {Handle} handle
   * @param {import('./poses.js').Point} point
   */
  hold(handle, point) {
    const units = [...this.game.picked];
    const settled = this.settled(units);
    if (!settled || units.length === 0) return;
    const last = settled.legs[settled.legs.length - 1];
    const goesOn = last !== undefined && handleOf(last) === handle && isSameWay(last, last);
    this.units = units;
    this.before = goesOn ? settled.legs.slice(0, -1) : settled.legs;
    this.leg = goesOn ? last : null;
    this.began = goesOn ? last : null;
    const all = stations(settled.start, this.before);
    this.from = all[all.length - 1];
    this.handle = handle;
    this.held = point;
    this.point = null;
    this.limit = null;
    this.limitOf = '';
    this.verdict = null;
    this.isByKey = false;
    if (handle !== 'left-side' && handle !== 'right-side') this.probe(this.leg ?? this.firstLeg(handle));
    this.game.tell('live');
  }

  /**
   * @param {Handle} handle
   * @returns {Leg}
   */
  firstLeg(handle) {
    if (handle === 'front') return { leg: 'forward', distance_mm: 1 };
    return { leg: 'wheel', side: handle === 'left-corner' ? 'right' : 'left', angle_deg: 1 };
  }

  /**
   * Asks how far a leg could go.
   * @param {Leg} leg
   */
  probe(leg) {
    const limitOf = wayOf(leg);
    if (this.limitOf === limitOf) return;
    this.limitOf = limitOf;
    this.limit = null;
    this.asker.ask({ legs: [...this.before, withExtent(leg, 'as-far-as-allowed')], isProbe: true });
  }

  /**
   * The hand has come to a point.
   * @param {import('./poses.js').Point} point
   */
  drag(point) {
    if (!this.handle) return;
    this.point = point;
    const rect = bodyRectangle(this.from);
    // A hand that goes on with a leg holds the ghost where it had come to.
    const shown = legOf(this.handle, rect, this.startOfHold(rect), point);
    this.setLeg(shown);
  }

  /**
   * Where the hand would have taken hold, had the leg before it begun at this drag.
   * @param {import('./poses.js').Rectangle} rect
   * @returns {import('./poses.js').Point}
   */
  startOfHold(rect) {
    if (!this.began) return this.held;
    const moved = bodyRectangle(stations(this.from, [this.began])[1]);
    const turn = Math.atan2(moved.ahead.x, moved.ahead.y) - Math.atan2(rect.ahead.x, rect.ahead.y);
    const offset = { x: this.held.x - moved.centre.x, y: this.held.y - moved.centre.y };
    const [sine, cosine] = [Math.sin(-turn), Math.cos(-turn)];
    return { x: rect.centre.x + offset.x * cosine + offset.y * sine, y: rect.centre.y + offset.y * cosine - offset.x * sine };
  }

  /** @param {Leg | null} shown */
  setLeg(shown) {
    let leg = shown;
    if (leg && this.handle) {
      if (wayOf(leg) !== this.limitOf) this.probe(leg);
      const within = this.catchOf(leg);
      if (!this.isByKey) leg = withExtent(leg, snapped(this.dressed(leg, within / 3), this.limit, within));
      if (amount(leg) === 0) leg = null;
    }
    if (JSON.stringify(leg) === JSON.stringify(this.leg)) return;
    this.leg = leg;
    // A probe that waits to be sent is not pushed aside: its answer asks for the leg.
    if (leg && !this.asker.next?.isProbe) this.asker.ask({ legs: [...this.before, leg], isProbe: false });
    if (!leg) this.verdict = null;
    this.game.tell('live');
  }

  /**
   * The amount of a leg, brought to where it lines up with a friend.
   * @param {Leg} leg
   * @param {number} within
   */
  dressed(leg, within) {
    const friends = this.game.table.units.filter((unit) => unit.side === this.game.side && !this.units.includes(unit.id));
    const rects = friends.flatMap((unit) => this.game.member(unit.id) ?? []).map(rectangle);
    return dressed(amount(leg), dressings(leg, bodyRectangle(this.from), rects), within);
  }

  /**
   * How much further than a limit a hand may be and be brought back, in the measure of the leg.
   * @param {Leg} leg
   */
  catchOf(leg) {
    const mm = CATCH_PX * this.mmOfPixel();
    if (leg.leg !== 'wheel') return mm;
    return (mm / (2 * bodyRectangle(this.from).halfFrontage)) * (180 / Math.PI);
  }

  /**
   * A key pressed on a handle makes its leg longer or shorter.
   * @param {Handle} handle
   * @param {number} by
   */
  nudge(handle, by) {
    const settled = this.settled(this.game.picked);
    if (!settled) return;
    this.hold(handle, { x: 0, y: 0 });
    this.isByKey = true;
    this.setLeg(nudged(handle, this.leg, by));
    this.release();
  }

  /** Lets go: the leg stands on the sheet. */
  release() {
    const { draft } = this.game;
    if (!this.handle || !draft) return;
    const legs = this.leg ? [...this.beforeAsWritten(), this.leg] : this.beforeAsWritten();
    this.handle = null;
    this.asker.forget();
    const written = legsOf(draft.sheet, this.units);
    if (JSON.stringify(written) !== JSON.stringify(legs)) draft.set(withLegs(draft.sheet, this.units, legs).sheet);
    this.game.tell('live');
  }

  /** The legs before the one in the hand as the sheet has them: those that stop by themselves go on doing so. */
  beforeAsWritten() {
    const { draft } = this.game;
    return draft ? legsOf(draft.sheet, this.units).slice(0, this.before.length) : this.before;
  }

  /** Lets go as if nothing had been done. */
  drop() {
    this.handle = null;
    this.asker.forget();
    this.game.tell('live');
  }

  /**
   * @param {Question} question
   * @returns {Promise<OrderVerdict>}
   */
  send(question) {
    const { draft } = this.game;
    if (!draft) return Promise.reject(new NoAnswer());
    const { sheet, place } = withLegs(draft.sheet, this.units, question.legs);
    return ask(this.game.path('/order'), { key: this.game.key, json: { sheet, order: place } });
  }

  /**
   * @param {Question} question
   * @param {OrderVerdict} answer
   */
  heard(question, answer) {
    if (!this.handle) return;
    if (question.isProbe) {
      this.learn(question, answer);
      // A hand that was past the limit before it was known is brought to it now.
      if (this.point && !this.isByKey) this.drag(this.point);
      if (this.leg) this.asker.ask({ legs: [...this.before, this.leg], isProbe: false });
    } else {
      this.verdict = answer;
    }
    this.game.tell('live');
  }

  /**
   * How far the leg may go, and what stops it there.
   * @param {Question} question
   * @param {OrderVerdict} answer
   */
  learn(question, answer) {
    const leg = question.legs[question.legs.length - 1];
    if (wayOf(leg) !== this.limitOf) return;
    const ledger = answer.moves[0]?.legs[question.legs.length - 1];
    if (!ledger) return;
    this.limit = cut(leg.leg === 'wheel' ? ledger.angle_deg ?? 0 : ledger.tape_mm);
    this.stoppedBy = ledger.stopped_by ?? answer.first?.text ?? '';
  }

  /** Where the ghosts stand now: after each leg, the one in the hand last. */
  get stations() {
    return stations(this.from, this.leg ? [this.leg] : []);
  }
}

/**
 * What limits a leg's length does not depend on it: its kind, its side and, of an oblique, its angle.
 * @param {Leg} leg
 */
const wayOf = (leg) => [leg.leg, leg.side ?? '', leg.leg === 'oblique' ? leg.angle_deg : ''].join(' ');

/**
 * The leg with the amount at which the referee found that it stops.
 * @param {Leg} leg
 * @param {import('./types.js').LegLedger | undefined} ledger
 * @returns {Leg}
 */
function resolved(leg, ledger) {
  const told = leg.leg === 'wheel' ? leg.angle_deg : leg.distance_mm;
  const isOpen = leg.up_to || told === 'as-far-as-allowed';
  if (!isOpen || !ledger) return leg;
  return withExtent({ ...leg }, leg.leg === 'wheel' ? ledger.angle_deg ?? 0 : ledger.tape_mm);
}
