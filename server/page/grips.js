/** The handles round a body: where they lie, what they look like, and what keys do to them. */

import { drawn } from './dom.js';
import { grip, HANDLES } from './gestures.js';
import { amount } from './poses.js';
import { tenths } from './words.js';

/** @typedef {import('./gestures.js').Handle} Handle */
/** @typedef {import('./poses.js').Rectangle} Rectangle */
/** @typedef {import('./table-view.js').TableView} TableView */

/** Sizes on the screen, in pixels. */
const GRIP_PX = 15;
const OFF_PX = 26;

/** How far a key moves a leg, in millimetres or degrees; with shift by little. */
const STEPS = { mm: [10, 1], deg: [5, 0.5] };

/** What a handle does, for those who do not see it. */
const WORDS = {
  front: 'Ahead and back',
  'left-corner': 'Wheel right, the left corner goes round',
  'right-corner': 'Wheel left, the right corner goes round',
  'left-side': 'Step or oblique to the left',
  'right-side': 'Step or oblique to the right',
};

/** The signs on the handles, drawn for a unit that faces up: which way the hand goes. */
const SIGNS = {
  front: 'M0 -0.55L0 0.55M-0.3 -0.22L0 -0.58L0.3 -0.22M-0.3 0.22L0 0.58L0.3 0.22',
  'left-corner': 'M-0.45 0.45A0.95 0.95 0 0 1 0.45 -0.4M0.05 -0.5L0.48 -0.42L0.38 0.02',
  'right-corner': 'M0.45 0.45A0.95 0.95 0 0 0 -0.45 -0.4M-0.05 -0.5L-0.48 -0.42L-0.38 0.02',
  'left-side': 'M0.5 0L-0.55 0M-0.2 -0.32L-0.58 0L-0.2 0.32',
  'right-side': 'M-0.5 0L0.55 0M0.2 -0.32L0.58 0L0.2 0.32',
};

/**
 * All handles of a body.
 * @param {TableView} view
 * @param {Rectangle} body
 * @param {import('./types.js').Leg | undefined} last its last leg
 * @param {(handle: Handle, by: number) => void} nudge what a key does
 */
export function grips(view, body, last, nudge) {
  return HANDLES.map((handle) =>
    drawn(
      'g',
      {
        'data-handle': handle,
        class: 'grip',
        role: 'slider',
        tabindex: 0,
        'aria-label': WORDS[handle],
        'aria-valuemin': handle === 'front' ? -100000 : 0,
        'aria-valuemax': 100000,
        'aria-valuenow': last ? amount(last) : 0,
        'aria-valuetext': last ? `${last.leg} ${tenths(amount(last))}` : 'not moved',
        transform: placed(view, handle, body),
        onkeydown: (/** @type {Event} */ event) => press(handle, /** @type {KeyboardEvent} */ (event), nudge),
      },
      drawn('circle', { r: 1.6, class: 'reach' }),
      drawn('circle', { r: 1, class: 'plate' }),
      drawn('path', { d: SIGNS[handle], class: 'sign' }),
    ),
  );
}

/**
 * Where a handle lies: beside what it moves, so that the hand hides neither base nor ghost; the same size however near the table is.
 * @param {TableView} view
 * @param {Handle} handle
 * @param {Rectangle} body
 */
function placed(view, handle, body) {
  const { grain, scale } = view;
  const at = view.toDrawing(grip(handle, body));
  const ahead = { x: body.ahead.x, y: -body.ahead.y };
  const across = { x: -ahead.y, y: ahead.x };
  const hand = handle.startsWith('left') ? -1 : 1;
  const narrow = body.halfFrontage * scale < 2.2 * GRIP_PX * grain ? 0.9 : 0;
  const off = OFF_PX * grain;
  let [right, up] = [hand * (1.1 + narrow), -0.35];
  if (handle === 'front') [right, up] = [0, 1.15];
  else if (handle.endsWith('corner')) [right, up] = [hand * (0.75 + narrow), 0.85];
  const x = at.x + (across.x * right + ahead.x * up) * off;
  const y = at.y + (across.y * right + ahead.y * up) * off;
  const bearing = (Math.atan2(body.ahead.x, body.ahead.y) * 180) / Math.PI;
  return `translate(${x} ${y}) rotate(${bearing}) scale(${GRIP_PX * grain})`;
}

/**
 * Up and right make a leg longer, down and left shorter.
 * @param {Handle} handle
 * @param {KeyboardEvent} event
 * @param {(handle: Handle, by: number) => void} nudge
 */
function press(handle, event, nudge) {
  const way = { ArrowUp: 1, ArrowRight: 1, ArrowDown: -1, ArrowLeft: -1, PageUp: 4, PageDown: -4 }[event.key];
  if (way === undefined) return;
  event.preventDefault();
  const [much, little] = handle.endsWith('corner') ? STEPS.deg : STEPS.mm;
  nudge(handle, way * (event.shiftKey ? little : much));
}
