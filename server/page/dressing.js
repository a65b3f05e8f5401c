/** Lining up with neighbours: the amounts of a leg at which a body is level with another, touches it, or faces as it does. */

import { corners, dot, right } from './poses.js';

/** @typedef {import('./poses.js').Rectangle} Rectangle */
/** @typedef {import('./types.js').Leg} Leg */

/** Bodies whose bearings differ by no more than this, in degrees, stand in one line. */
const PARALLEL_DEG = 1;

/**
 * The amounts, in the measure of the leg, at which it lines up with a neighbour. Only what lies ahead of the leg counts.
 * @param {Leg} leg
 * @param {Rectangle} rect before the leg
 * @param {Rectangle[]} neighbours
 * @returns {number[]}
 */
export function dressings(leg, rect, neighbours) {
  const all = neighbours.flatMap((other) => lined(leg, rect, other));
  return all.map((amount) => Math.round(amount * 100) / 100).filter((amount) => amount > 0);
}

/**
 * @param {Leg} leg
 * @param {Rectangle} rect
 * @param {Rectangle} other
 * @returns {number[]}
 */
function lined(leg, rect, other) {
  const clockwise = turnTo(rect, other);
  if (leg.leg === 'wheel') {
    const turn = leg.side === 'right' ? clockwise : -clockwise;
    return [((turn % 360) + 360) % 360];
  }
  if (Math.abs(clockwise) > PARALLEL_DEG) return [];
  const offset = { x: other.centre.x - rect.centre.x, y: other.centre.y - rect.centre.y };
  if (leg.leg === 'forward' || leg.leg === 'back') {
    const level = dot(offset, rect.ahead) + other.halfDepth - rect.halfDepth;
    return [leg.leg === 'forward' ? level : -level];
  }
  if (leg.leg !== 'sidestep') return [];
  const across = corners(other).map((corner) => dot({ x: corner.x - rect.centre.x, y: corner.y - rect.centre.y }, right(rect.ahead)));
  return leg.side === 'right' ? [Math.min(...across) - rect.halfFrontage] : [-Math.max(...across) - rect.halfFrontage];
}

/**
 * How far one would turn clockwise to face as the other does, from −180 to 180 degrees.
 * @param {Rectangle} rect
 * @param {Rectangle} other
 */
function turnTo(rect, other) {
  const cross = rect.ahead.y * other.ahead.x - rect.ahead.x * other.ahead.y;
  return (Math.atan2(cross, dot(rect.ahead, other.ahead)) * 180) / Math.PI;
}

/**
 * The amount to which a hand near one of some amounts is brought.
 * @param {number} shown
 * @param {number[]} amounts
 * @param {number} within
 * @returns {number}
 */
export function dressed(shown, amounts, within) {
  const near = amounts.filter((amount) => Math.abs(amount - shown) <= within);
  return near.reduce((best, amount) => (Math.abs(amount - shown) < Math.abs(best - shown) ? amount : best), near[0] ?? shown);
}
