/** Poses of legs against the referee's own vectors. */

import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import test from 'node:test';

import { placement, stations, stored } from '../poses.js';

/** What the referee may do to a leg's end: it is stored at the nearest place that breaks no limit. In micrometres and micro-degrees. */
const QUANTA = 6;

const cases = JSON.parse(readFileSync(new URL('../vectors/legs.json', import.meta.url), 'utf8'));

const member = (unit) => ({ pose: unit.start, files: unit.files, bases: unit.bases, baseMm: unit.base_mm, frontageMm: unit.frontage_mm, depthMm: unit.depth_mm });

test('the vectors are there', () => assert.ok(cases.length > 80, `${cases.length}`));

for (const [at, { units, legs }] of cases.entries()) {
  test(`vector ${at}: ${legs.map((leg) => leg.leg).join(', ')} by ${units.length}`, () => {
    const all = stations(units.map(member), legs);
    for (const [place, moved] of all[all.length - 1].entries()) {
      const { end, end_files: files } = units[place];
      for (const part of ['x_um', 'y_um']) assert.ok(Math.abs(moved.pose[part] - end[part]) <= QUANTA, `${part}: ${moved.pose[part]} for ${end[part]}`);
      const off = (((moved.pose.bearing_udeg - end.bearing_udeg) % 360e6) + 540e6) % 360e6 - 180e6;
      assert.ok(Math.abs(off) <= QUANTA, `bearing: ${moved.pose.bearing_udeg} for ${end.bearing_udeg}`);
      assert.equal(moved.files, files);
    }
  });
}

test('a pose goes to millimetres and back', () => {
  for (const bearing of [0, 1, 89_999_999, 90_000_000, 181_000_001, 359_999_999]) {
    const pose = { x_um: 600_123, y_um: -1, bearing_udeg: bearing };
    assert.deepEqual(stored(placement(pose)), pose);
  }
});
