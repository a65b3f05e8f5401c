/** What is done to a sheet. */

import assert from 'node:assert/strict';
import test from 'node:test';

import { History } from '../history.js';
import { blank, carried, forTurn, legsOf, moveOf, withBattles, withLegs, withOrder, without } from '../sheet.js';

const forward = [{ leg: 'forward', distance_mm: 40 }];
const fight = { order: 'battle', attackers: ['red-1'], defenders: ['blue-1'], guns: [], follow_up: null };
const empty = blank({ game_turn: 2, to_move: 'red' });

test('a move is put before the battles, and found again', () => {
  const { sheet, place } = withLegs(withOrder(empty, -1, fight), ['red-1'], forward);
  assert.equal(place, 0);
  assert.deepEqual(sheet.orders.map((order) => order.order), ['move', 'battle']);
  assert.equal(moveOf(sheet, 'red-1'), 0);
  assert.deepEqual(legsOf(sheet, ['red-1']), forward);
});

test('new legs of the same unit take the place of its old ones, whatever kind of move it is', () => {
  const arriving = withOrder(empty, -1, { order: 'arrive', unit: 'red-9', along_mm: 400, legs: [] });
  const { sheet } = withLegs(arriving, ['red-9'], forward);
  assert.deepEqual(sheet.orders, [{ order: 'arrive', unit: 'red-9', along_mm: 400, legs: forward }]);
});

test('units that move together lose the orders they had alone', () => {
  const alone = withLegs(withLegs(empty, ['red-1'], forward).sheet, ['red-3'], forward).sheet;
  const { sheet, place } = withLegs(alone, ['red-1', 'red-2'], forward);
  assert.deepEqual(sheet.orders[place], { order: 'move-together', units: ['red-1', 'red-2'], legs: forward });
  assert.equal(sheet.orders.length, 2);
  assert.equal(withLegs(sheet, ['red-2', 'red-1'], []).place, place);
});

test('orders are carried and taken off', () => {
  const sheet = { ...empty, orders: ['a', 'b', 'c'].map((unit) => ({ order: 'leave', unit })) };
  const units = (of) => of.orders.map((order) => order.unit).join('');
  assert.equal(units(carried(sheet, 0, 2)), 'bca');
  assert.equal(units(carried(sheet, 2, -4)), 'cab');
  assert.equal(units(carried(sheet, 7, 0)), 'abc');
  assert.equal(units(without(sheet, 1)), 'ac');
  assert.equal(units(sheet), 'abc');
});

test('other battles take the place of all there were', () => {
  const sheet = withOrder(withLegs(empty, ['red-1'], forward).sheet, -1, fight);
  assert.deepEqual(withBattles(sheet, []).orders.map((order) => order.order), ['move']);
});

test('a sheet is written on for another turn', () => assert.deepEqual(forTurn(empty, { game_turn: 3, to_move: null }), { game_turn: 3, side: 'red', orders: [] }));

test('undoing and doing again', () => {
  const history = new History(1);
  history.add(2);
  history.add(3);
  assert.equal(history.undo(), 2);
  assert.equal(history.undo(), 1);
  assert.equal(history.undo(), null);
  assert.equal(history.redo(), 2);
  history.add(9);
  assert.equal(history.canRedo, false);
  assert.equal(history.undo(), 2);
});
