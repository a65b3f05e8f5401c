/**
 * The tape: what a move costs, laid out along what the unit may spend. Each piece is as long as its charge and bears its ground;
 * a line that is paid for is a notch; what is too much runs on beyond the end.
 */

import { el, put } from './dom.js';
import { tenths } from './words.js';

/** @typedef {import('./types.js').MoveVerdict} MoveVerdict */

export class TapeStrip extends HTMLElement {
  connectedCallback() {
    this.band = el('div', { class: 'band', 'aria-hidden': 'true' });
    this.figures = el('p', { class: 'figures' });
    this.replaceChildren(this.band, this.figures);
  }

  /** Nothing is measured. */
  clear() {
    this.dataset.ruling = '';
    if (this.band) put(this.band);
    if (this.figures) put(this.figures);
  }

  /** @param {MoveVerdict} move */
  show(move) {
    if (!this.band || !this.figures) return;
    this.dataset.ruling = move.verdict;
    const whole = Math.max(move.allowance_mm, move.charge_mm, 1);
    const pieces = move.legs.flatMap((leg, at) => piecesOf(leg, at));
    let laid = 0;
    const parts = pieces.map((piece) => {
      const part = el('span', { class: `piece ${piece.kind}`, title: piece.words });
      part.style.left = `${(laid / whole) * 100}%`;
      part.style.width = `${(piece.charge / whole) * 100}%`;
      laid += piece.charge;
      if (piece.charge / whole > 0.16) part.append(el('b', {}, piece.name));
      return part;
    });
    const end = el('span', { class: 'end' });
    end.style.left = `${(move.allowance_mm / whole) * 100}%`;
    const over = el('span', { class: 'over' });
    over.style.left = end.style.left;
    over.style.width = `${(Math.max(0, move.charge_mm - move.allowance_mm) / whole) * 100}%`;
    put(this.band, parts, over, end);
    const left = move.allowance_mm - move.charge_mm;
    const rest = left < -1e-9 ? `${tenths(-left)} too much` : `${tenths(left)} left`;
    put(this.figures, el('b', {}, tenths(move.charge_mm)), ` of ${tenths(move.allowance_mm)} mm, `, el('b', {}, rest));
  }
}

/**
 * @param {import('./types.js').LegLedger} leg
 * @param {number} at
 * @returns {{name: string, kind: string, charge: number, words: string}[]}
 */
function piecesOf(leg, at) {
  const odd = at % 2 === 1 ? ' next' : '';
  const pieces = leg.pieces.map((piece) => ({
    name: piece.ground === 'open' ? leg.leg : piece.ground,
    kind: (piece.rate > 1 ? 'slow' : piece.ground === 'road' ? 'road' : 'open') + odd,
    charge: piece.charge_mm,
    words: `${leg.leg}, ${piece.ground}: ${tenths(piece.to_mm - piece.from_mm)} mm × ${piece.rate} is ${tenths(piece.charge_mm)}`,
  }));
  const lines = leg.lines
    .filter((line) => line.charge_mm > 0)
    .map((line) => ({ name: line.line, kind: 'line', charge: line.charge_mm, words: `${line.line}: ${tenths(line.charge_mm)}` }));
  const fixed = leg.fixed_mm > 0 ? [{ name: leg.leg, kind: 'fixed', charge: leg.fixed_mm, words: `${leg.leg}: ${tenths(leg.fixed_mm)}` }] : [];
  return [...pieces, ...lines, ...fixed];
}

customElements.define('tape-strip', TapeStrip);
