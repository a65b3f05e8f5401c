/** Battles: who attacks whom is tapped on the table; strings, odds, column and duties are the referee's. */

import { button, el, put } from './dom.js';
import { isFight, withBattles, withOrder, without } from './sheet.js';
import { list, sign, tenths } from './words.js';

/** @typedef {import('./game.js').Game} Game */
/** @typedef {import('./types.js').Order} Order */

/** The battle that taps go to: its place on the sheet; −1: one that is to begin. */
let open = -1;

/**
 * A tap on a unit while battles are written.
 * @param {Game} game
 * @param {string} id
 */
export function tapped(game, id) {
  const { draft } = game;
  const unit = game.unit(id);
  if (!draft || !unit) return;
  const order = current(draft.sheet);
  /** @type {Order} */
  const next = order ? { ...order } : { order: 'battle', attackers: [], defenders: [], guns: [], follow_up: null };
  const kind = unit.side === game.side ? (unit.arm === 'guns' ? 'guns' : 'attackers') : 'defenders';
  const named = next[kind] ?? [];
  next[kind] = named.includes(id) ? named.filter((other) => other !== id) : [...named, id];
  if (next.follow_up && !next.attackers?.includes(next.follow_up)) next.follow_up = null;
  const isEmpty = ['attackers', 'defenders', 'guns'].every((kind) => (next[/** @type {'guns'} */ (kind)] ?? []).length === 0);
  if (isEmpty && order) draft.set(without(draft.sheet, open));
  else draft.set(withOrder(draft.sheet, order ? open : -1, next));
  if (!order) open = draft.sheet.orders.length - 1;
}

/**
 * @param {import('./types.js').Sheet} sheet
 * @returns {Order | null}
 */
function current(sheet) {
  const order = sheet.orders[open];
  return order?.order === 'battle' ? order : null;
}

/**
 * @param {HTMLElement} part
 * @param {Game} game
 */
export function battleOrders(part, game) {
  const { draft } = game;
  if (!draft) return put(part);
  const verdict = draft.checked?.verdict;
  const battles = draft.sheet.orders.flatMap((order, at) => (order.order === 'battle' ? [{ order, at }] : []));
  const isOn = game.mode === 'battle';
  if (!battles.some(({ at }) => at === open)) open = -1;
  const duties = (verdict?.reasons ?? []).filter((reason) => reason.ruling === 'refused');
  const completion = verdict?.completion;
  put(
    part,
    el(
      'div',
      { class: 'row' },
      el('h2', {}, 'Battles'),
      button(isOn ? 'Back to moves' : 'Name attackers and defenders', () => game.setMode(isOn ? 'move' : 'battle'), { 'aria-pressed': String(isOn) }),
    ),
    isOn ? el('p', { class: 'hint' }, 'Tap your attackers and guns, and the enemies they attack. Tap again to take one off.') : null,
    isOn ? choosers(game) : null,
    battles.map(({ order, at }) => one(game, order, at, isOn)),
    isOn && open >= 0 ? button('Another battle', () => begin(game)) : null,
    duties.map((reason) => el('p', { class: `reason ${reason.ruling}` }, reason.text)),
    completion ? button(completion.length === 0 ? 'Declare no battle, as the referee would' : 'Declare what is asked for', () => draft.set(withBattles(draft.sheet, completion))) : null,
  );
}

/** @param {Game} game */
function begin(game) {
  open = -1;
  game.tell('draft');
}

/**
 * The same by keys and for screen readers: every unit that can be named, as a box to tick.
 * @param {Game} game
 */
function choosers(game) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const order = current(draft.sheet);
  const named = [...(order?.attackers ?? []), ...(order?.guns ?? []), ...(order?.defenders ?? [])];
  const units = game.table.units.filter((unit) => unit.state === 'standing');
  const boxes = (/** @type {boolean} */ own) =>
    units.filter((unit) => game.isOwn(unit) === own).map((unit) => el('label', { class: 'box' }, tick(unit.id, named.includes(unit.id), () => tapped(game, unit.id)), unit.name));
  return el('div', { class: 'choosers' }, el('fieldset', {}, el('legend', {}, 'Attack'), boxes(true)), el('fieldset', {}, el('legend', {}, 'Are attacked'), boxes(false)));
}

/**
 * @param {string} id
 * @param {boolean} on
 * @param {() => void} change
 */
function tick(id, on, change) {
  const box = /** @type {HTMLInputElement} */ (el('input', { type: 'checkbox', 'data-keep': `fight-${id}` }));
  box.checked = on;
  box.addEventListener('change', change);
  return box;
}

/**
 * @param {Game} game
 * @param {Order} order
 * @param {number} at
 * @param {boolean} isOn
 */
function one(game, order, at, isOn) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const verdict = draft.checked?.verdict.battles.find((battle) => battle.order === at);
  const names = (/** @type {string[] | undefined} */ ids) => list((ids ?? []).map((id) => game.name(id)));
  const follow = /** @type {HTMLSelectElement} */ (
    el('select', { id: `follow-${at}` }, el('option', { value: '' }, 'nobody'), (order.attackers ?? []).map((id) => el('option', { value: id }, game.name(id))))
  );
  follow.value = order.follow_up ?? '';
  follow.addEventListener('change', () => draft.set(withOrder(draft.sheet, at, { ...order, follow_up: follow.value || null })));
  return el(
    'article',
    { class: `fight ${isOn && at === open ? 'open' : ''}`, 'data-ruling': verdict?.verdict ?? '' },
    el('h3', {}, el('span', { class: 'sign', 'aria-hidden': 'true' }, sign(verdict?.verdict ?? '')), `${names(order.attackers) || 'Nobody yet'} against ${names(order.defenders) || 'nobody yet'}`),
    order.guns?.length ? el('p', {}, `Guns: ${names(order.guns)}`) : null,
    verdict?.odds ? odds(verdict.odds) : null,
    verdict ? chances(verdict) : null,
    verdict ? strings(game, verdict) : null,
    verdict?.reasons.map((reason) => el('p', { class: `reason ${reason.ruling}` }, reason.text)) ?? null,
    el('div', { class: 'row' }, el('label', { for: `follow-${at}` }, 'Follows up:'), follow, isOn && at !== open ? button('Change', () => reopen(game, at)) : null),
  );
}

/**
 * @param {Game} game
 * @param {number} at
 */
function reopen(game, at) {
  open = at;
  game.tell('draft');
}

/** @param {import('./types.js').Odds} told */
function odds(told) {
  return el(
    'div',
    { class: 'odds' },
    el('p', { class: 'column' }, `${told.attack} against ${told.defence}: `, el('b', {}, told.column)),
    told.shifts.length > 0 ? el('ul', {}, el('li', {}, `${told.column_before_shifts} by strength alone`), told.shifts.map((shift) => el('li', {}, shift))) : null,
  );
}

/** @param {import('./types.js').BattleVerdict} verdict */
function chances(verdict) {
  if (!verdict.chances?.length) return null;
  const rows = verdict.chances.map((chance) => {
    const bar = el('i', { 'aria-hidden': 'true' });
    bar.style.width = `${(chance.ways / chance.of) * 100}%`;
    return el('li', {}, el('span', {}, chance.words ?? chance.outcome), el('b', {}, `${chance.ways} in ${chance.of}`), bar);
  });
  return el('ul', { class: 'chances', 'aria-label': 'Chances of the outcomes' }, rows);
}

/**
 * @param {Game} game
 * @param {import('./types.js').BattleVerdict} verdict
 */
function strings(game, verdict) {
  if (verdict.measured.length === 0) return null;
  const rows = verdict.measured.map((string) =>
    el('tr', {}, el('td', {}, game.name(string.from)), el('td', {}, game.name(string.to)), el('td', { class: 'figure' }, tenths(string.distance_mm)), el('td', { class: 'figure' }, tenths(string.limit_mm)), el('td', {}, string.through ? `through ${game.name(string.through)}` : '')),
  );
  return el('table', { class: 'strings' }, el('thead', {}, el('tr', {}, ['From', 'To', 'mm', 'of', ''].map((head) => el('th', { scope: 'col' }, head)))), el('tbody', {}, rows));
}

/**
 * Whether a sheet has fights at all.
 * @param {import('./types.js').Sheet} sheet
 */
export const hasFights = (sheet) => sheet.orders.some(isFight);
