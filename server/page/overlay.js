/** What lies over the drawing while a sheet is written: ghosts of the core's own units, tapes, handles, and places to tap by key. */

import { drawn, put } from './dom.js';
import { tapeTrack } from './gestures.js';
import { grips } from './grips.js';
import { amount, bodyRectangle, corners, placement, rectangle, spot, stations } from './poses.js';
import { isFight, movers } from './sheet.js';
import { tenths } from './words.js';

/** @typedef {import('./poses.js').Member} Member */
/** @typedef {import('./poses.js').Point} Point */
/** @typedef {import('./types.js').Leg} Leg */

export class Overlay {
  /**
   * @param {import('./table-view.js').TableView} view
   * @param {import('./game.js').Game} game
   * @param {import('./hand.js').Hand} hand
   */
  constructor(view, game, hand) {
    this.view = view;
    this.game = game;
    this.hand = hand;
    /** @type {[Point, Point] | null} the player's own tape between two points */
    this.tape = null;
    /** @type {{hole: boolean, points: {x_mm: number, y_mm: number}[]}[]} outlines of the ground in reach */
    this.reach = [];
    this.parts = {
      reach: drawn('g', { class: 'reach-ground' }),
      battles: drawn('g', { class: 'battles' }),
      ghosts: drawn('g', { class: 'ghosts' }),
      picked: drawn('g', { class: 'picked' }),
      live: drawn('g', { class: 'live' }),
      places: drawn('g', { class: 'places' }),
      handles: drawn('g', { class: 'handles' }),
      tape: drawn('g', { class: 'own-tape' }),
    };
    view.layer.replaceChildren(...Object.values(this.parts));
    this.isDue = false;
  }

  /** Draws at the next frame, once however often it is asked. */
  draw() {
    if (this.isDue) return;
    this.isDue = true;
    requestAnimationFrame(() => {
      this.isDue = false;
      this.drawNow();
    });
  }

  drawNow() {
    if (!this.game.drawing) return;
    this.drawReach();
    this.drawDraft();
    this.drawPicked();
    this.drawLive();
    this.drawHandles();
    this.drawTape();
  }

  /** @param {Point} mm */
  text(mm) {
    const { x, y } = this.view.toDrawing(mm);
    return `${x.toFixed(1)} ${y.toFixed(1)}`;
  }

  /** @param {Point[]} points */
  ring(points) {
    return `M${points.map((point) => this.text(point)).join('L')}Z`;
  }

  /** @param {Point[]} points */
  line(points) {
    return points.length > 1 ? `M${points.map((point) => this.text(point)).join('L')}` : '';
  }

  /**
   * The core's drawing of a unit, put to another pose; an outline where the core has not drawn it.
   * @param {string} id
   * @param {Member} member
   * @param {string} kind
   */
  ghost(id, member, kind) {
    const unit = this.game.unit(id);
    const shape = this.game.drawn(id);
    const outline = drawn('path', { d: this.ring(corners(rectangle(member))), class: `outline ${kind}` });
    if (!shape || !unit?.pose || member.files !== unit.files) return outline;
    const [was, is] = [placement(unit.pose), placement(member.pose)];
    const [from, to] = [this.view.toDrawing(was), this.view.toDrawing(is)];
    const turn = (member.pose.bearing_udeg - unit.pose.bearing_udeg) / 1e6;
    const copy = /** @type {SVGElement} */ (shape.cloneNode(true));
    for (const part of [copy, ...copy.querySelectorAll('[id]')]) part.removeAttribute('id');
    copy.querySelector('title')?.remove();
    copy.removeAttribute('data-unit');
    copy.setAttribute('class', 'copy');
    copy.setAttribute('transform', `translate(${to.x} ${to.y}) rotate(${turn}) translate(${-from.x} ${-from.y})`);
    return drawn('g', { class: `ghost ${kind}` }, copy, outline);
  }

  drawReach() {
    const lines = this.reach.map((outline) => this.ring(outline.points.map((spot) => ({ x: spot.x_mm, y: spot.y_mm }))));
    put(this.parts.reach, lines.length > 0 ? drawn('path', { d: lines.join(''), 'fill-rule': 'evenodd' }) : null);
  }

  /** Every order of the draft: where its units end, and who attacks whom. */
  drawDraft() {
    const { draft } = this.game;
    /** @type {SVGElement[]} */
    const ghosts = [];
    /** @type {SVGElement[]} */
    const battles = [];
    if (draft && this.game.at === null) {
      const live = this.hand.isHeld ? this.hand.units : [];
      for (const [place, order] of draft.sheet.orders.entries()) {
        if (isFight(order)) battles.push(...this.battle(order));
        else if (!movers(order).some((unit) => live.includes(unit))) ghosts.push(...this.moved(place, order));
      }
    }
    put(this.parts.ghosts, ghosts);
    put(this.parts.battles, battles);
  }

  /**
   * @param {number} place
   * @param {import('./types.js').Order} order
   */
  moved(place, order) {
    const units = movers(order);
    const settled = this.hand.settled(units);
    if (!settled) return [];
    const ruling = this.game.draft?.checked?.verdict.moves.find((move) => move.order === place)?.verdict ?? 'asked';
    const all = stations(settled.start, settled.legs);
    const ends = all[all.length - 1];
    const parts = units.map((unit, at) => this.ghost(unit, ends[at], ruling));
    return [...this.tracks(all, settled.legs, ruling), ...parts];
  }

  /**
   * @param {Member[][]} all
   * @param {Leg[]} legs
   * @param {string} kind
   */
  tracks(all, legs, kind) {
    return legs.map((leg, at) => {
      const body = bodyRectangle(all[at]);
      return drawn('path', { d: this.line(tapeTrack(leg, body)), class: `track ${kind}` });
    });
  }

  /** @param {import('./types.js').Order} order */
  battle(order) {
    const middle = (/** @type {string} */ id) => {
      const member = this.afterDraft(id);
      return member ? rectangle(member).centre : null;
    };
    const targets = order.target ? [order.target] : order.defenders ?? [];
    const lines = [];
    for (const [from, kind] of [...(order.attackers ?? []).map((id) => [id, 'attack']), ...(order.guns ?? []).map((id) => [id, 'fire'])]) {
      for (const to of targets) {
        const [a, b] = [middle(from), middle(to)];
        if (a && b) lines.push(drawn('path', { d: this.line([a, b]), class: `string ${kind}` }));
      }
    }
    return lines;
  }

  /**
   * A unit where the draft leaves it.
   * @param {string} id
   * @returns {Member | null}
   */
  afterDraft(id) {
    const order = this.game.draft?.sheet.orders.find((order) => movers(order).includes(id));
    const units = order ? movers(order) : [];
    const settled = order && this.hand.settled(units);
    if (!settled) return this.game.member(id);
    const all = stations(settled.start, settled.legs);
    return all[all.length - 1][units.indexOf(id)];
  }

  drawPicked() {
    const { game } = this;
    const shown = [...new Set([...game.picked, ...(game.looked ? [game.looked] : [])])];
    const rings = shown.flatMap((id) => {
      const member = game.member(id);
      return member ? [drawn('path', { d: this.ring(corners(rectangle(member))), class: game.picked.includes(id) ? 'ring own' : 'ring' })] : [];
    });
    put(this.parts.picked, rings);
  }

  drawLive() {
    const { hand } = this;
    const parts = [];
    if (hand.isHeld) {
      const verdict = hand.verdict?.moves[0]?.verdict ?? 'asked';
      const beyond = hand.leg && hand.limit !== null && amount(hand.leg) > hand.limit + 1e-9;
      const kind = beyond || verdict === 'refused' ? 'refused' : verdict;
      const all = hand.stations;
      const ends = all[all.length - 1];
      parts.push(...this.tracks(all, hand.leg ? [hand.leg] : [], kind));
      parts.push(...hand.units.map((unit, at) => this.ghost(unit, ends[at], `${kind} held`)));
      parts.push(...this.stop());
      if (hand.leg) parts.push(this.label(ends, hand.leg, kind));
    }
    put(this.parts.live, parts);
  }

  /** The furthest legal place of the leg in the hand, as an outline. */
  stop() {
    const { hand } = this;
    if (!hand.leg || hand.limit === null || hand.limit <= 0 || hand.limit > 5000) return [];
    const leg = hand.leg.leg === 'wheel' ? { ...hand.leg, angle_deg: hand.limit } : { ...hand.leg, distance_mm: hand.limit };
    const ends = stations(hand.from, [leg])[1];
    return ends.map((member) => drawn('path', { d: this.ring(corners(rectangle(member))), class: 'stop' }));
  }

  /**
   * @param {Member[]} ends
   * @param {Leg} leg
   * @param {string} kind
   */
  label(ends, leg, kind) {
    const body = bodyRectangle(ends);
    const { grain } = this.view;
    const at = this.view.toDrawing(body.centre);
    const reach = Math.hypot(body.halfFrontage, body.halfDepth) * this.view.scale + 52 * grain;
    const y = at.y - reach > this.view.view.y + 20 * grain ? at.y - reach : at.y + reach;
    const words = `${leg.leg === 'oblique' ? `${leg.angle_deg}° ` : ''}${tenths(amount(leg))}${leg.leg === 'wheel' ? '°' : ' mm'}`;
    const wide = (words.length * 8.6 + 18) * grain;
    return drawn(
      'g',
      { class: `label ${kind}` },
      drawn('rect', { x: at.x - wide / 2, y: y - 14 * grain, width: wide, height: 28 * grain, rx: 4 * grain }),
      drawn('text', { x: at.x, y: y + 5 * grain, 'font-size': 15 * grain, 'text-anchor': 'middle' }, words),
    );
  }

  /** Handles round the picked units where the draft leaves them. They stay where they are while one is held. */
  drawHandles() {
    const { game, hand } = this;
    if (!game.mayWrite || game.mode !== 'move' || game.picked.length === 0) return put(this.parts.handles);
    if (hand.isHeld && !hand.isByKey) {
      this.parts.handles.classList.add('held');
      return;
    }
    this.parts.handles.classList.remove('held');
    const settled = hand.settled(game.picked);
    if (!settled) return put(this.parts.handles);
    const all = stations(settled.start, settled.legs);
    const body = bodyRectangle(all[all.length - 1]);
    const last = settled.legs[settled.legs.length - 1];
    const focused = /** @type {Element | null} */ (document.activeElement)?.getAttribute('data-handle');
    put(this.parts.handles, grips(this.view, body, last, (handle, by) => this.hand.nudge(handle, by)));
    if (focused) /** @type {SVGElement | null} */ (this.parts.handles.querySelector(`[data-handle="${focused}"]`))?.focus();
  }

  /** A place to tap by key for every unit that stands, in the order of their marks. */
  drawPlaces() {
    const { game } = this;
    const focused = document.activeElement?.getAttribute('data-place');
    const units = game.table.units.filter((unit) => unit.state === 'standing').sort((a, b) => Number(game.isOwn(b)) - Number(game.isOwn(a)));
    const places = units.flatMap((unit) => {
      const member = game.member(unit.id);
      if (!member) return [];
      const isPicked = game.picked.includes(unit.id) || game.looked === unit.id;
      return [
        drawn('path', {
          d: this.ring(corners(rectangle(member))),
          class: 'place',
          'data-place': unit.id,
          role: 'button',
          tabindex: 0,
          'aria-pressed': isPicked ? 'true' : 'false',
          'aria-label': `${unit.name}, ${game.sideName(unit.side)}, ${unit.bases} of ${unit.bases_at_start} bases`,
          onkeydown: (/** @type {Event} */ event) => this.pressPlace(unit.id, /** @type {KeyboardEvent} */ (event)),
        }),
      ];
    });
    put(this.parts.places, places);
    if (focused) /** @type {SVGElement | null} */ (this.parts.places.querySelector(`[data-place="${CSS.escape(focused)}"]`))?.focus();
  }

  /**
   * @param {string} id
   * @param {KeyboardEvent} event
   */
  pressPlace(id, event) {
    if (event.key !== 'Enter' && event.key !== ' ') return;
    event.preventDefault();
    this.view.dispatchEvent(new CustomEvent('picked', { detail: { id, more: event.shiftKey } }));
  }

  drawTape() {
    if (!this.tape) return put(this.parts.tape);
    const [from, to] = this.tape;
    const { grain } = this.view;
    const mm = Math.hypot(to.x - from.x, to.y - from.y);
    const at = this.view.toDrawing({ x: (from.x + to.x) / 2, y: (from.y + to.y) / 2 });
    const words = `${tenths(mm)} mm`;
    const wide = (words.length * 8.6 + 18) * grain;
    put(
      this.parts.tape,
      drawn('path', { d: this.line([from, to]), class: 'band' }),
      drawn('rect', { x: at.x - wide / 2, y: at.y - 36 * grain, width: wide, height: 26 * grain, rx: 4 * grain }),
      drawn('text', { x: at.x, y: at.y - 18 * grain, 'font-size': 15 * grain, 'text-anchor': 'middle' }, words),
    );
  }

  /**
   * The unit under a point of the table, or near it by no more than a thumb is wide.
   * @param {Point} point
   * @returns {string | null}
   */
  unitAt(point) {
    const within = 16 * this.view.mmOfPixel;
    /** @type {[number, string | null]} */
    let best = [within, null];
    for (const unit of this.game.table.units) {
      for (const member of [this.game.member(unit.id), this.game.draft ? this.afterDraft(unit.id) : null]) {
        if (!member) continue;
        const off = offOf(rectangle(member), point);
        if (off < best[0] || (off === 0 && best[0] === 0)) best = [off, unit.id];
      }
    }
    return best[1];
  }
}

/**
 * How far a point lies off a rectangle; 0 within it.
 * @param {import('./poses.js').Rectangle} rect
 * @param {Point} point
 */
function offOf(rect, point) {
  const middle = spot(rect, 0, 0);
  const [x, y] = [point.x - middle.x, point.y - middle.y];
  const across = Math.abs(x * rect.ahead.y - y * rect.ahead.x) - rect.halfFrontage;
  const along = Math.abs(x * rect.ahead.x + y * rect.ahead.y) - rect.halfDepth;
  return Math.hypot(Math.max(0, across), Math.max(0, along));
}
