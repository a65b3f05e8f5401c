/** What a drag of each handle means. */

import assert from 'node:assert/strict';
import test from 'node:test';

import { cut, grip, handleOf, HANDLES, isSameWay, legOf, nudged, snapped, tapeTrack, withExtent } from '../gestures.js';
import { bodyRectangle, stations } from '../poses.js';

/** A unit that faces east, 80 wide and 40 deep. */
const unit = { pose: { x_um: 500_000, y_um: 300_000, bearing_udeg: 90_000_000 }, files: 2, bases: 2, baseMm: [40, 40], frontageMm: 80, depthMm: 40 };
const rect = bodyRectangle([unit]);
const drag = (handle, x, y) => {
  const from = grip(handle, rect);
  return legOf(handle, rect, from, { x: from.x + x, y: from.y + y });
};

test('the front goes ahead and back', () => {
  assert.deepEqual(drag('front', 61.4, 9), { leg: 'forward', distance_mm: 61 });
  assert.deepEqual(drag('front', -12.6, 0), { leg: 'back', distance_mm: 13 });
  assert.equal(drag('front', 0.3, 40), null);
});

test('a corner wheels about the other one', () => {
  // The left corner of a unit that faces east is its northern one.
  const right = drag('left-corner', 40, -7);
  assert.equal(right.leg, 'wheel');
  assert.equal(right.side, 'right');
  assert.equal(right.angle_deg, Math.round((Math.atan2(40, 73) * 360) / Math.PI) / 2);
  assert.equal(drag('right-corner', 40, 7).side, 'left');
  assert.equal(drag('right-corner', 40, 7).angle_deg, right.angle_deg);
});

test('a corner drawn back behind the front wheels nowhere', () => assert.equal(drag('left-corner', -20, 0), null));

test('a wheel shown by the hand brings the corner under it', () => {
  const leg = drag('left-corner', 30, -6);
  const moved = grip('left-corner', bodyRectangle(stations([unit], [leg])[1]));
  const wanted = { x: 530, y: 334 };
  const pivot = grip('right-corner', rect);
  const bearing = (point) => Math.atan2(point.x - pivot.x, point.y - pivot.y);
  assert.ok(Math.abs(bearing(moved) - bearing(wanted)) < 0.005);
});

test('a side steps, or goes oblique when it is drawn ahead as well', () => {
  assert.deepEqual(drag('left-side', 2, 30), { leg: 'sidestep', side: 'left', distance_mm: 30 });
  assert.deepEqual(drag('right-side', 0, -25), { leg: 'sidestep', side: 'right', distance_mm: 25 });
  assert.deepEqual(drag('right-side', 30, -30), { leg: 'oblique', side: 'right', angle_deg: 45, distance_mm: 42 });
  assert.equal(drag('left-side', 0, -20), null);
});

test('a hand near a limit is brought to it', () => {
  assert.equal(snapped(70, 63.5, 10), 63.5);
  assert.equal(snapped(90, 63.5, 10), 90);
  assert.equal(snapped(60, 63.5, 10), 63.5);
  assert.equal(snapped(40, 63.5, 10), 40);
  assert.equal(snapped(70, null, 10), 70);
});

test('a limit is never told longer than it was measured', () => {
  assert.equal(cut(63.58), 63.5);
  assert.equal(cut(63.5), 63.5);
  assert.equal(cut(0.3 * 3), 0.9);
});

test('keys make a leg longer and shorter, and the other way below nothing', () => {
  assert.deepEqual(nudged('front', null, 10), { leg: 'forward', distance_mm: 10 });
  assert.deepEqual(nudged('front', { leg: 'forward', distance_mm: 10 }, -30), { leg: 'back', distance_mm: 20 });
  assert.equal(nudged('front', { leg: 'back', distance_mm: 10 }, 10), null);
  assert.deepEqual(nudged('left-corner', { leg: 'wheel', side: 'right', angle_deg: 5 }, 5), { leg: 'wheel', side: 'right', angle_deg: 10 });
  assert.equal(nudged('left-side', null, -10), null);
});

test('every handle knows its own legs again', () => {
  for (const handle of HANDLES) {
    const leg = nudged(handle, null, 10);
    assert.equal(handleOf(leg), handle);
  }
  assert.equal(handleOf({ leg: 'about' }), null);
});

test('only like legs of a given length are one', () => {
  const leg = { leg: 'forward', distance_mm: 10 };
  assert.ok(isSameWay(leg, { leg: 'forward', distance_mm: 4 }));
  assert.ok(!isSameWay(leg, { ...leg, up_to: true }));
  assert.ok(!isSameWay(leg, withExtent(leg, 'as-far-as-allowed')));
  assert.ok(!isSameWay({ leg: 'wheel', side: 'left', angle_deg: 3 }, { leg: 'wheel', side: 'right', angle_deg: 3 }));
});

test('the tape of a wheel is the arc of the outer corner', () => {
  const track = tapeTrack({ leg: 'wheel', side: 'right', angle_deg: 90 }, rect);
  const length = track.slice(1).reduce((sum, point, at) => sum + Math.hypot(point.x - track[at].x, point.y - track[at].y), 0);
  assert.ok(Math.abs(length - 40 * Math.PI) < 0.1, `${length}`);
  assert.deepEqual(tapeTrack({ leg: 'turn', side: 'left' }, rect), []);
});
