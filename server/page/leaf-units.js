/** The table as a list: every unit, where it stands, and how far it is from the one that is picked, as the referee measures. */

import { button, el, put } from './dom.js';
import { standing, tenths, wind } from './words.js';

/** @typedef {import('./game.js').Game} Game */
/** @typedef {import('./types.js').Unit} Unit */

/** @param {Game} game */
export function unitsLeaf(game) {
  const lists = el('div', { class: 'sides' });
  /** @type {Map<string, string>} what was measured from the picked unit */
  let measured = new Map();
  let from = '';
  const show = () => {
    if (from !== (game.looked ?? '')) {
      from = game.looked ?? '';
      measured = new Map();
    }
    const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.row;
    put(lists, measuring(game, measured, show), game.table.sides.map((side) => sideList(game, side.side, measured)));
    if (focused) /** @type {HTMLElement | null} */ (lists.querySelector(`[data-row="${CSS.escape(focused)}"]`))?.focus();
  };
  game.on(['table', 'selection'], show);
  return { leaf: el('div', { class: 'leaf units-leaf' }, el('h2', {}, 'Units'), lists), show };
}

/**
 * @param {Game} game
 * @param {Map<string, string>} measured
 * @param {() => void} show
 */
function measuring(game, measured, show) {
  const unit = game.unit(game.looked);
  if (!unit || unit.state !== 'standing') return el('p', { class: 'hint' }, 'Pick a unit to have the distances to all others measured.');
  return button(`Measure from ${unit.name} to all others`, () => void measure(game, unit, measured, show));
}

/**
 * @param {Game} game
 * @param {Unit} unit
 * @param {Map<string, string>} measured
 * @param {() => void} show
 */
async function measure(game, unit, measured, show) {
  const others = game.table.units.filter((other) => other.id !== unit.id && other.state === 'standing');
  for (const other of others) {
    if (game.looked !== unit.id) return;
    try {
      const { measurement } = await game.ask('/measure', { json: { first: unit.id, second: other.id, ...(game.draft ? { sheet: game.draft.sheet } : {}) } });
      const { bearing_deg: bearing } = measurement.regards[0];
      measured.set(other.id, `${tenths(measurement.distance_mm)} mm away, to the ${wind(bearing)} (${tenths(bearing)}°)`);
    } catch (error) {
      measured.set(other.id, error instanceof Error ? error.message : '');
    }
    show();
  }
}

/**
 * @param {Game} game
 * @param {string} side
 * @param {Map<string, string>} measured
 */
function sideList(game, side, measured) {
  const units = game.table.units.filter((unit) => unit.side === side);
  return el('section', {}, el('h3', {}, game.sideName(side)), el('ul', { class: 'units' }, units.map((unit) => row(game, unit, measured.get(unit.id)))));
}

/**
 * @param {Game} game
 * @param {Unit} unit
 * @param {string | undefined} distance
 */
function row(game, unit, distance) {
  const isPicked = game.picked.includes(unit.id) || game.looked === unit.id;
  const where = unit.state === 'standing' && unit.place ? standing(unit.place) : unit.state === 'waiting' && unit.arrives ? `comes from game turn ${unit.arrives.game_turn}, ${unit.arrives.edge} edge` : 'gone';
  return el(
    'li',
    { 'data-state': unit.state },
    button(unit.name, (event) => game.pick(unit.id, /** @type {MouseEvent} */ (event).shiftKey), { 'aria-pressed': String(isPicked), 'data-row': unit.id, class: 'line' }),
    el('span', { class: 'strength' }, `${unit.bases}/${unit.bases_at_start}`),
    el('p', { class: 'where' }, where),
    distance ? el('p', { class: 'distance' }, distance) : null,
  );
}
