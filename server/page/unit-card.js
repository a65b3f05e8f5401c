/** The unit that is picked: what it is, its legs one by one, and the legs that no handle makes. */

import { Problem } from './api.js';
import { button, el, put } from './dom.js';
import { amount } from './poses.js';
import { legsOf, moveOf, moveOfAll, withLegs, withOrder, without } from './sheet.js';
import { list, standing, tenths } from './words.js';

/** @typedef {import('./game.js').Game} Game */
/** @typedef {import('./types.js').Leg} Leg */
/** @typedef {import('./types.js').Unit} Unit */

/**
 * @param {HTMLElement} card
 * @param {Game} game
 */
export function unitCard(card, game) {
  const looked = game.unit(game.looked);
  const units = game.picked.map((id) => game.unit(id)).filter((unit) => unit !== undefined);
  const parts = [];
  if (units.length > 1) parts.push(el('h2', {}, list(units.map((unit) => unit.name))), el('p', { class: 'hint' }, 'They move as one body: each leg is made by the rectangle round them all.'));
  else if (looked) parts.push(...about(game, looked));
  if (units.length > 0 && game.mayWrite) parts.push(...legs(game, units), ...deeds(game, units));
  put(card, parts);
  card.hidden = parts.length === 0;
}

/**
 * @param {Game} game
 * @param {Unit} unit
 */
function about(game, unit) {
  const where = unit.state === 'standing' && unit.place ? `${standing(unit.place)}.` : unit.state === 'waiting' && unit.arrives ? `Comes from game turn ${unit.arrives.game_turn} over the ${unit.arrives.edge} edge.` : 'It has left the table.';
  return [
    el('h2', {}, unit.name, ' ', el('small', {}, unit.id)),
    el('p', { class: 'facts' }, `${game.sideName(unit.side)}. ${unit.troops}, ${unit.bases} of ${unit.bases_at_start} bases, ${unit.files} abreast, strength ${unit.strength}. ${where}`),
  ];
}

/**
 * The legs written so far, each with its length to change and a way to take it off.
 * @param {Game} game
 * @param {Unit[]} units
 */
function legs(game, units) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const ids = units.map((unit) => unit.id);
  const written = legsOf(draft.sheet, ids);
  if (written.length === 0) return [];
  const change = (/** @type {Leg[]} */ next) => {
    const place = moveOfAll(draft.sheet, ids);
    const order = draft.sheet.orders[place];
    draft.set(next.length === 0 && order?.order === 'move' ? without(draft.sheet, place) : withLegs(draft.sheet, ids, next).sheet);
  };
  const chips = written.map((leg, at) =>
    el('li', {}, el('span', {}, legWords(leg)), button('×', () => change(written.filter((_, place) => place !== at)), { class: 'icon', 'aria-label': `Take off ${legWords(leg)}` })),
  );
  return [el('ol', { class: 'legs', 'aria-label': 'Its legs' }, chips)];
}

/**
 * A leg in the trade's words.
 * @param {Leg} leg
 */
function legWords(leg) {
  const parts = [leg.leg, leg.side ?? ''];
  if (leg.leg === 'reform') parts.push(`${leg.files} × ${leg.ranks}`);
  if (leg.leg === 'oblique' || leg.leg === 'align') parts.push(`${leg.angle_deg}°`);
  const told = leg.leg === 'wheel' ? leg.angle_deg : leg.distance_mm;
  if (told === 'as-far-as-allowed') parts.push('as far as allowed');
  else if (told !== undefined) parts.push(`${leg.up_to ? 'up to ' : ''}${tenths(amount(leg))}${leg.leg === 'wheel' ? '°' : ' mm'}`);
  return parts.filter((part) => part !== '').join(' ');
}

/**
 * Buttons for what no handle does.
 * @param {Game} game
 * @param {Unit[]} units
 */
function deeds(game, units) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const ids = units.map((unit) => unit.id);
  const add = (/** @type {Leg} */ leg) => draft.set(withLegs(draft.sheet, ids, [...legsOf(draft.sheet, ids), leg]).sheet);
  const [unit] = units;
  if (units.length === 1 && unit.state === 'waiting') return [arrival(game, unit)];
  const buttons = [
    button('Ahead, as far as allowed', () => add({ leg: 'forward', distance_mm: 'as-far-as-allowed' })),
    button('Turn left', () => add({ leg: 'turn', side: 'left' })),
    button('Turn right', () => add({ leg: 'turn', side: 'right' })),
    button('About', () => add({ leg: 'about' })),
  ];
  if (units.length > 1) return [el('div', { class: 'deeds' }, buttons)];
  const more = /** @type {HTMLDetailsElement} */ (el('details', { class: 'more' }, el('summary', {}, 'Align, reform, withdraw and the like'), el('div', { class: 'deeds' }, single(game, unit, add))));
  more.addEventListener('toggle', () => (isMoreOpen = more.open));
  more.open = isMoreOpen;
  return [el('div', { class: 'deeds' }, buttons), ...facing(game, ids), more];
}

/** Whether the buttons that are needed seldom lie open. */
let isMoreOpen = false;

/**
 * @param {Game} game
 * @param {Unit} unit
 * @param {(leg: Leg) => void} add
 */
function single(game, unit, add) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const place = moveOf(draft.sheet, unit.id);
  const order = draft.sheet.orders[place];
  const put_ = (/** @type {import('./types.js').Order} */ next) => draft.set(withOrder(draft.sheet, place, next));
  const isWithdrawing = order?.order === 'withdraw';
  return [
    button('Align left', () => add({ leg: 'align', side: 'left', angle_deg: 5 })),
    button('Align right', () => add({ leg: 'align', side: 'right', angle_deg: 5 })),
    ...blocks(unit).map(([files, ranks]) => button(`Reform ${files} × ${ranks}`, () => add({ leg: 'reform', files, ranks }))),
    button('Stand', () => put_({ order: 'move', unit: unit.id, legs: [] })),
    button('Withdraw', () => put_({ order: 'withdraw', unit: unit.id, legs: order?.legs ?? [] }), { 'aria-pressed': String(isWithdrawing) }),
    button('Leave the table', () => draft.set(withOrder(draft.sheet, -1, { order: 'leave', unit: unit.id }))),
    button('Give way left', () => draft.set(withOrder(draft.sheet, -1, { order: 'give-way', unit: unit.id, side: 'left' }))),
    button('Give way right', () => draft.set(withOrder(draft.sheet, -1, { order: 'give-way', unit: unit.id, side: 'right' }))),
  ];
}

/**
 * Other blocks of the same bases, near the one it has. Whether one is allowed, the referee says.
 * @param {Unit} unit
 * @returns {[number, number][]}
 */
function blocks(unit) {
  const all = Array.from({ length: unit.bases }, (_, at) => at + 1);
  const near = all.filter((files) => files !== unit.files && Math.abs(files - unit.files) <= 3);
  return near.map((files) => [files, Math.ceil(unit.bases / files)]);
}

/**
 * @param {Game} game
 * @param {Unit} unit
 */
function arrival(game, unit) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const { from_mm: from, to_mm: to } = unit.arrives ?? { from_mm: 0, to_mm: 0 };
  const place = moveOf(draft.sheet, unit.id);
  const now = draft.sheet.orders[place]?.along_mm ?? Math.round((from + to) / 2);
  const along = el('input', { type: 'range', min: from, max: to, step: 1, value: now, id: 'along' });
  along.addEventListener('change', () => {
    const legs = draft.sheet.orders[place]?.legs ?? [];
    draft.set(withOrder(draft.sheet, place, { order: 'arrive', unit: unit.id, along_mm: Number(/** @type {HTMLInputElement} */ (along).value), legs }));
  });
  const comes = button('Arrive', () => draft.set(withOrder(draft.sheet, place, { order: 'arrive', unit: unit.id, along_mm: now, legs: [] })));
  return el('div', { class: 'deeds' }, comes, place < 0 ? null : el('label', { for: 'along', class: 'wide' }, `Its front's middle, from the edge's west or south end: ${now} mm`, along));
}

/**
 * "Face this enemy": the wheel that the referee measures.
 * @param {Game} game
 * @param {string[]} ids
 */
function facing(game, ids) {
  const enemies = game.table.units.filter((unit) => unit.side !== game.side && unit.state === 'standing');
  if (ids.length !== 1 || enemies.length === 0) return [];
  const pick = /** @type {HTMLSelectElement} */ (el('select', { id: 'face' }, enemies.map((unit) => el('option', { value: unit.id }, unit.name))));
  const said = el('p', { class: 'hint', role: 'status' });
  const face = button('Face this enemy', () => void faced(game, ids[0], pick.value, said));
  return [el('div', { class: 'row facing' }, el('label', { for: 'face', class: 'unseen' }, 'Enemy to face'), pick, face), said];
}

/**
 * @param {Game} game
 * @param {string} unit
 * @param {string} enemy
 * @param {HTMLElement} said
 */
async function faced(game, unit, enemy, said) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  try {
    const { measurement } = await game.ask('/measure', { json: { first: unit, second: enemy, sheet: draft.sheet } });
    const aim = measurement.regards[0].aims.find((/** @type {any} */ aim) => aim.point === 'middle');
    const [left, right] = [aim?.wheel_left_deg ?? Infinity, aim?.wheel_right_deg ?? Infinity];
    const shorter = Math.min(left, right);
    if (!Number.isFinite(shorter)) return put(said, `No wheel brings ${game.name(unit)} to face ${game.name(enemy)}.`);
    if (shorter < 0.05) return put(said, `It faces ${game.name(enemy)} already.`);
    /** @type {Leg} */
    const leg = { leg: 'wheel', side: left <= right ? 'left' : 'right', angle_deg: Math.round(shorter * 100) / 100 };
    draft.set(withLegs(draft.sheet, [unit], [...legsOf(draft.sheet, [unit]), leg]).sheet);
  } catch (error) {
    if (error instanceof Problem || error instanceof Error) put(said, error.message);
  }
}
