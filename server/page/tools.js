/** The tools that lie on the table: nearer and farther, zones, the tape, picking several. */

import { button, el } from './dom.js';

/**
 * @param {import('./game.js').Game} game
 * @param {import('./table-view.js').TableView} view
 * @param {import('./overlay.js').Overlay} overlay
 */
export function tools(game, view, overlay) {
  const shown = new Set();
  const zones = (/** @type {string} */ name, /** @type {string} */ label) => {
    const tool = button(label, () => {
      if (shown.has(name)) shown.delete(name);
      else shown.add(name);
      tool.setAttribute('aria-pressed', String(shown.has(name)));
      apply();
    }, { 'aria-pressed': 'false' });
    return tool;
  };
  const apply = () => {
    for (const name of ['halt-zones', 'strike-zones', 'deployment']) {
      game.drawing?.querySelectorAll(`.${name}`).forEach((part) => part.setAttribute('display', shown.has(name) ? 'inline' : 'none'));
    }
  };
  game.on(['table'], apply);
  const tape = button('Tape', () => game.setMode(game.mode === 'tape' ? 'move' : 'tape'), { 'aria-pressed': 'false' });
  const several = button('Several', () => {
    game.isPickingMore = !game.isPickingMore;
    several.setAttribute('aria-pressed', String(game.isPickingMore));
  }, { 'aria-pressed': 'false', title: 'Each tap picks one more unit; they move together' });
  const reach = button('Reach', () => void reached(game, overlay, reach), { 'aria-pressed': 'false', title: 'The ground that the picked unit can come to cover' });
  game.on(['selection', 'table', 'draft'], () => {
    overlay.reach = [];
    reach.setAttribute('aria-pressed', 'false');
    reach.disabled = !game.looked;
  });
  laid(view, overlay, game);
  game.on(['mode'], () => {
    tape.setAttribute('aria-pressed', String(game.mode === 'tape'));
    if (game.mode !== 'tape') overlay.tape = null;
    overlay.draw();
  });
  game.on(['draft'], () => (several.hidden = game.side === null));
  const set = el('details', { class: 'more-tools' }, el('summary', {}, 'Tools'), el('div', { class: 'stack' }, zones('halt-zones', 'Halt zones'), zones('strike-zones', 'Strike zones'), zones('deployment', 'Deployment'), reach, tape, several));
  return el(
    'div',
    { class: 'table-tools', role: 'group', 'aria-label': 'Tools' },
    button('+', () => view.zoomMiddle(1.35), { class: 'icon', 'aria-label': 'Nearer' }),
    button('−', () => view.zoomMiddle(0.74), { class: 'icon', 'aria-label': 'Farther' }),
    button('▣', () => view.fit(), { class: 'icon', 'aria-label': 'The whole table' }),
    set,
  );
}

/**
 * The ground that the unit looked at can come to cover in one turn, shown or put away.
 * @param {import('./game.js').Game} game
 * @param {import('./overlay.js').Overlay} overlay
 * @param {HTMLElement} tool
 */
async function reached(game, overlay, tool) {
  const isShown = overlay.reach.length > 0;
  overlay.reach = [];
  if (!isShown && game.looked) {
    const sheet = game.draft && game.picked.includes(game.looked) ? { sheet: game.draft.sheet } : {};
    const told = await game.ask('/reach', { json: { unit: game.looked, ...sheet } }).catch(() => null);
    overlay.reach = told?.reach.footprint ?? [];
  }
  tool.setAttribute('aria-pressed', String(overlay.reach.length > 0));
  overlay.draw();
}

/**
 * A tape between any two points, laid by dragging.
 * @param {import('./table-view.js').TableView} view
 * @param {import('./overlay.js').Overlay} overlay
 * @param {import('./game.js').Game} game
 */
function laid(view, overlay, game) {
  let isNew = true;
  view.takes = () => {
    isNew = true;
    return game.mode === 'tape';
  };
  view.addEventListener('taken', (event) => {
    const { at } = /** @type {CustomEvent} */ (event).detail;
    overlay.tape = [isNew || !overlay.tape ? at : overlay.tape[0], at];
    isNew = false;
    overlay.draw();
  });
}
