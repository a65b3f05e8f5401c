/** What a drag of a handle means: the leg that a hand on the table shows. Nothing here knows a limit. */

import { amount, dot, plus, right, spot } from './poses.js';

/** @typedef {import('./types.js').Leg} Leg */
/** @typedef {import('./poses.js').Point} Point */
/** @typedef {import('./poses.js').Rectangle} Rectangle */
/** @typedef {'front' | 'left-corner' | 'right-corner' | 'left-side' | 'right-side'} Handle */

/** @type {Handle[]} */
export const HANDLES = ['front', 'left-corner', 'right-corner', 'left-side', 'right-side'];

/** Off straight ahead, in degrees, from where on a drag of a side is a step sideways. */
const SIDEWAYS_DEG = 67.5;

/**
 * Where a handle is held.
 * @param {Handle} handle
 * @param {Rectangle} rect
 * @returns {Point}
 */
export function grip(handle, rect) {
  const { halfFrontage: wide, halfDepth: deep } = rect;
  switch (handle) {
    case 'front':
      return spot(rect, 0, deep);
    case 'left-corner':
      return spot(rect, -wide, deep);
    case 'right-corner':
      return spot(rect, wide, deep);
    case 'left-side':
      return spot(rect, -wide, 0);
    default:
      return spot(rect, wide, 0);
  }
}

/**
 * The leg that takes a body from its rectangle to where the hand has come; null when it has come nowhere.
 * @param {Handle} handle
 * @param {Rectangle} rect as it stands before the leg
 * @param {Point} from where the hand took hold
 * @param {Point} to where it is
 * @returns {Leg | null}
 */
export function legOf(handle, rect, from, to) {
  const moved = { x: to.x - from.x, y: to.y - from.y };
  switch (handle) {
    case 'front':
      return straight(dot(moved, rect.ahead));
    case 'left-corner':
      return wheel('right', rect, from, to);
    case 'right-corner':
      return wheel('left', rect, from, to);
    case 'left-side':
      return sideways('left', rect, moved);
    default:
      return sideways('right', rect, moved);
  }
}

/**
 * @param {number} mm
 * @returns {Leg | null}
 */
function straight(mm) {
  const whole = Math.round(mm);
  if (whole === 0) return null;
  return whole > 0 ? { leg: 'forward', distance_mm: whole } : { leg: 'back', distance_mm: -whole };
}

/**
 * @param {'left' | 'right'} side
 * @param {Rectangle} rect
 * @param {Point} from
 * @param {Point} to
 * @returns {Leg | null}
 */
function wheel(side, rect, from, to) {
  const pivot = spot(rect, (side === 'left' ? -1 : 1) * rect.halfFrontage, rect.halfDepth);
  const bearing = (/** @type {Point} */ point) => Math.atan2(point.x - pivot.x, point.y - pivot.y);
  const clockwise = ((bearing(to) - bearing(from)) * 180) / Math.PI;
  const way = side === 'right' ? clockwise : -clockwise;
  const round = ((way % 360) + 360) % 360;
  // A hand that has gone a little back behind the front has not gone nearly all the way round.
  const degrees = round > 270 ? 0 : Math.round(round * 2) / 2;
  return degrees === 0 ? null : { leg: 'wheel', side, angle_deg: degrees };
}

/**
 * @param {'left' | 'right'} side
 * @param {Rectangle} rect
 * @param {Point} moved
 * @returns {Leg | null}
 */
function sideways(side, rect, moved) {
  const across = dot(moved, right(rect.ahead)) * (side === 'left' ? -1 : 1);
  const ahead = dot(moved, rect.ahead);
  if (across < 0.5) return null;
  const off = (Math.atan2(across, ahead) * 180) / Math.PI;
  if (off >= SIDEWAYS_DEG) {
    const mm = Math.round(across);
    return mm === 0 ? null : { leg: 'sidestep', side, distance_mm: mm };
  }
  const mm = Math.round(Math.hypot(across, ahead));
  return mm === 0 ? null : { leg: 'oblique', side, angle_deg: Math.max(1, Math.round(off)), distance_mm: mm };
}

/**
 * The leg going so far instead.
 * @param {Leg} leg
 * @param {number | 'as-far-as-allowed'} extent
 * @returns {Leg}
 */
export function withExtent(leg, extent) {
  return leg.leg === 'wheel' ? { ...leg, angle_deg: extent } : { ...leg, distance_mm: extent };
}

/**
 * Whether two legs are one when they follow each other: what a handle goes on with when it is taken again.
 * @param {Leg} first
 * @param {Leg} second
 */
export function isSameWay(first, second) {
  if (first.up_to || second.up_to || first.leg !== second.leg || first.side !== second.side) return false;
  const isTold = (/** @type {Leg} */ leg) => typeof (leg.leg === 'wheel' ? leg.angle_deg : leg.distance_mm) === 'number';
  if (!isTold(first) || !isTold(second)) return false;
  return ['forward', 'back', 'sidestep', 'wheel'].includes(first.leg);
}

/**
 * The handle by which a leg is made; null for one that is made by a button.
 * @param {Leg} leg
 * @returns {Handle | null}
 */
export function handleOf(leg) {
  if (leg.leg === 'forward' || leg.leg === 'back') return 'front';
  if (leg.leg === 'wheel') return leg.side === 'right' ? 'left-corner' : 'right-corner';
  if (leg.leg === 'sidestep' || leg.leg === 'oblique') return leg.side === 'left' ? 'left-side' : 'right-side';
  return null;
}

/**
 * The leg a key makes of a handle: so much more, or less; below nothing it is the leg the other way, where there is one.
 * @param {Handle} handle
 * @param {Leg | null} leg
 * @param {number} by millimetres or degrees
 * @returns {Leg | null}
 */
export function nudged(handle, leg, by) {
  if (handle === 'front') {
    const now = leg ? amount(leg) * (leg.leg === 'back' ? -1 : 1) : 0;
    return straight(now + by);
  }
  const now = Math.max(0, (leg ? amount(leg) : 0) + by);
  if (now === 0) return null;
  if (handle === 'left-corner' || handle === 'right-corner') {
    return { leg: 'wheel', side: handle === 'left-corner' ? 'right' : 'left', angle_deg: now };
  }
  if (leg?.leg === 'oblique') return { ...leg, distance_mm: now };
  return { leg: 'sidestep', side: handle === 'left-side' ? 'left' : 'right', distance_mm: now };
}

/**
 * The amount to which a hand near a limit is brought: the limit when the hand is past it by no more than `within`, or short of
 * it by less than half of that; else what the hand shows.
 * @param {number} shown
 * @param {number | null} limit
 * @param {number} within
 * @returns {number}
 */
export function snapped(shown, limit, within) {
  if (limit === null) return shown;
  if (shown > limit && shown - limit <= within) return limit;
  if (shown < limit && limit - shown < within / 2) return limit;
  return shown;
}

/**
 * The furthest amount of a leg, told so that it is never over the limit: cut to tenths.
 * @param {number} measured
 */
export const cut = (measured) => Math.floor(measured * 10 + 1e-9) / 10;

/**
 * The track that a tape would follow in a leg, as points: of a wheel the arc of the outer front corner.
 * @param {Leg} leg
 * @param {Rectangle} rect before the leg
 * @param {Point} [anchor] front's middle of the unit whose tape it is
 * @returns {Point[]}
 */
export function tapeTrack(leg, rect, anchor = spot(rect, 0, rect.halfDepth)) {
  if (leg.leg === 'wheel') {
    const hand = leg.side === 'left' ? -1 : 1;
    const pivot = spot(rect, hand * rect.halfFrontage, rect.halfDepth);
    const outer = spot(rect, -hand * rect.halfFrontage, rect.halfDepth);
    const whole = (hand * amount(leg) * Math.PI) / 180;
    const steps = Math.max(2, Math.ceil(Math.abs(whole) / 0.08));
    return Array.from({ length: steps + 1 }, (_, step) => turnedAbout(outer, pivot, (whole * step) / steps));
  }
  const way = { forward: [0, 1], back: [0, -1] }[leg.leg];
  if (way) return [anchor, plus(anchor, rect.ahead, way[1] * amount(leg))];
  if (leg.leg === 'sidestep') return [anchor, plus(anchor, right(rect.ahead), (leg.side === 'left' ? -1 : 1) * amount(leg))];
  if (leg.leg === 'oblique') {
    const rad = ((leg.side === 'left' ? -1 : 1) * Number(leg.angle_deg) * Math.PI) / 180;
    const ahead = { x: rect.ahead.x * Math.cos(rad) + rect.ahead.y * Math.sin(rad), y: rect.ahead.y * Math.cos(rad) - rect.ahead.x * Math.sin(rad) };
    return [anchor, plus(anchor, ahead, amount(leg))];
  }
  return [];
}

/**
 * @param {Point} point
 * @param {Point} pivot
 * @param {number} rad clockwise
 * @returns {Point}
 */
function turnedAbout(point, pivot, rad) {
  const [x, y] = [point.x - pivot.x, point.y - pivot.y];
  return { x: pivot.x + x * Math.cos(rad) + y * Math.sin(rad), y: pivot.y + y * Math.cos(rad) - x * Math.sin(rad) };
}
