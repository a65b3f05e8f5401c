/** Lining up with neighbours. */

import assert from 'node:assert/strict';
import test from 'node:test';

import { dressed, dressings } from '../dressing.js';
import { bodyRectangle, stations } from '../poses.js';

const unit = (x, y, bearing) => ({ pose: { x_um: x * 1000, y_um: y * 1000, bearing_udeg: bearing * 1e6 }, files: 2, bases: 2, baseMm: [40, 20], frontageMm: 80, depthMm: 20 });
const rect = (x, y, bearing) => bodyRectangle([unit(x, y, bearing)]);

test('ahead to be level with a neighbour, and not behind', () => {
  const neighbours = [rect(700, 340, 0), rect(700, 250, 0), rect(700, 400, 20)];
  assert.deepEqual(dressings({ leg: 'forward', distance_mm: 1 }, rect(500, 300, 0), neighbours), [40]);
  assert.deepEqual(dressings({ leg: 'back', distance_mm: 1 }, rect(500, 300, 0), neighbours), [50]);
});

test('a wheel that brings a unit to face as its neighbour does', () => {
  const neighbours = [rect(700, 300, 350)];
  const [amount] = dressings({ leg: 'wheel', side: 'left', angle_deg: 1 }, rect(500, 300, 20), neighbours);
  assert.equal(amount, 30);
  const end = stations([unit(500, 300, 20)], [{ leg: 'wheel', side: 'left', angle_deg: amount }])[1][0];
  assert.equal(end.pose.bearing_udeg, 350_000_000);
});

test('a step sideways that brings sides together', () => {
  assert.deepEqual(dressings({ leg: 'sidestep', side: 'right', distance_mm: 1 }, rect(500, 300, 0), [rect(600, 295, 0)]), [20]);
  assert.deepEqual(dressings({ leg: 'sidestep', side: 'left', distance_mm: 1 }, rect(500, 300, 0), [rect(600, 295, 0)]), []);
});

test('a hand is brought to the nearest of what is near', () => {
  assert.equal(dressed(38, [40, 50, 37.5], 3), 37.5);
  assert.equal(dressed(44, [40, 50], 3), 44);
  assert.equal(dressed(44, [], 3), 44);
});
