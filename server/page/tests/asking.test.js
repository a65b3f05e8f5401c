/** Questions one at a time, the stream of news, and what is kept. */

import assert from 'node:assert/strict';
import test from 'node:test';

import { Asker } from '../asker.js';
import { Keeping } from '../keeping.js';
import { parse } from '../route.js';
import { eventsOf } from '../stream.js';
import { list, tenths, until, wind } from '../words.js';

/** A server that answers when told to. */
function slow() {
  const waiting = [];
  const send = (question) => new Promise((resolve, reject) => waiting.push({ question, resolve, reject }));
  return { waiting, send };
}
const turn = () => new Promise((resolve) => setTimeout(resolve, 0));

test('one question is in flight, and of those that wait the newest goes next', async () => {
  const { waiting, send } = slow();
  const heard = [];
  const asker = new Asker(send, (question) => heard.push(question));
  for (const question of [1, 2, 3, 4]) asker.ask(question);
  assert.deepEqual(waiting.map((one) => one.question), [1]);
  waiting[0].resolve();
  await turn();
  assert.deepEqual(waiting.map((one) => one.question), [1, 4]);
  waiting[1].resolve();
  await turn();
  assert.deepEqual(heard, [1, 4]);
  assert.equal(asker.isAsking, false);
});

test('an answer to what is no longer asked is dropped, and a failure does not stop the next', async () => {
  const { waiting, send } = slow();
  const heard = [];
  const failed = [];
  const asker = new Asker(send, (question) => heard.push(question), (question) => failed.push(question));
  asker.ask(1);
  asker.forget();
  asker.ask(2);
  waiting[0].resolve();
  await turn();
  waiting[1].reject(new Error('no'));
  asker.ask(3);
  await turn();
  waiting[2].resolve();
  await turn();
  assert.deepEqual([heard, failed], [[3], [2]]);
});

test('events of a stream are read whole, in whatever pieces they come', () => {
  const item = { number: 7, at: '', event: 'lost', words: 'A\nB' };
  const text = `: still here\n\nid: 7\nevent: lost\ndata: ${JSON.stringify(item)}\n\n`;
  for (let at = 0; at <= text.length; at += 1) {
    const first = eventsOf(text.slice(0, at));
    const second = eventsOf(first.rest + text.slice(at));
    assert.deepEqual([...first.news, ...second.news], [item]);
    assert.equal(second.rest, '');
  }
});

/** Storage that forgets nothing. */
function storage() {
  const all = new Map();
  return { getItem: (name) => all.get(name) ?? null, setItem: (name, text) => all.set(name, text), removeItem: (name) => all.delete(name) };
}

test('the number for the dice is one for each attempt at a player turn', () => {
  const kept = storage();
  const number = (turn, attempt) => new Keeping('g', 's', kept).number(turn, attempt).number;
  const first = number(3, 1);
  assert.match(first, /^[0-9a-f]{64}$/);
  new Keeping('g', 's', kept).noteTurnedAway();
  assert.equal(number(3, 1), first);
  assert.equal(new Keeping('g', 's', kept).number(3, 1).turnedAway, 1);
  const renewed = number(3, 2);
  assert.notEqual(renewed, first);
  assert.notEqual(number(4, 2), renewed);
  assert.notEqual(new Keeping('g', 'other', kept).number(4, 2).number, number(4, 2));
});

test('a draft is kept for its seat, and one that is spoilt is none', () => {
  const kept = storage();
  const keeping = new Keeping('g', 's', kept);
  const draft = { sheet: { game_turn: 1, side: 'red', orders: [] }, text: 'x', isTyped: true, head: { number: 1, hash: 'h' }, playerTurn: 1 };
  keeping.draft = draft;
  assert.deepEqual(new Keeping('g', 's', kept).draft, draft);
  assert.equal(new Keeping('g', 't', kept).draft, null);
  kept.setItem('fieldpost.g.s.draft', '{');
  assert.equal(keeping.draft, null);
  keeping.draft = null;
  assert.equal(kept.getItem('fieldpost.g.s.draft'), null);
});

test('addresses', () => {
  const id = '0'.repeat(32);
  assert.deepEqual(parse(`#game=${id}&seat=ab`), { view: 'game', game: id, key: 'ab' });
  assert.deepEqual(parse('#invitation=a.b'), { view: 'invitation', secret: 'a.b' });
  assert.deepEqual(parse('#game=../../etc'), { view: 'games' });
  assert.deepEqual(parse(''), { view: 'games' });
});

test('small words', () => {
  assert.equal(wind(-1), 'north');
  assert.equal(wind(225), 'south-west');
  assert.equal(tenths(-0.01), '0.0');
  assert.equal(list(['a', 'b', 'c']), 'a, b and c');
  assert.equal(until('2026-01-03T00:00:00Z', Date.parse('2026-01-01T00:00:00Z')), 'in 2 days');
  assert.equal(until('2026-01-01T00:00:00Z', Date.parse('2026-01-01T00:01:00Z')), '1 minute ago');
});
