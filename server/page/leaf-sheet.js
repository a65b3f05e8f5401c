/** The sheet beside the table: the picked units with their legs, the orders, the text, and the way to post. */

import { button, el, put } from './dom.js';
import { posted } from './leaf-posting.js';
import { battleOrders } from './leaf-battle.js';
import { unitCard } from './unit-card.js';
import { carried, without } from './sheet.js';
import { counted, sign } from './words.js';

/** Milliseconds after the last key before typed text is read. */
const PAUSE = 350;

/**
 * @param {import('./game.js').Game} game
 */
export function sheetLeaf(game) {
  const note = el('div', { class: 'note' });
  const card = el('section', { class: 'unit-card', 'aria-label': 'The picked unit' });
  const battle = el('section', { class: 'battle', 'aria-label': 'Battle' });
  const orders = el('ol', { class: 'orders' });
  const faults = el('div', { class: 'faults', role: 'alert' });
  const undo = button('Undo', () => game.draft?.undo(), { class: 'quiet' });
  const redo = button('Redo', () => game.draft?.redo(), { class: 'quiet' });
  const words = el('pre', { class: 'words', tabindex: 0, 'aria-label': 'The verdict in words' });
  const area = /** @type {HTMLTextAreaElement} */ (
    el('textarea', { id: 'sheet-text', rows: 6, spellcheck: 'false', autocapitalize: 'off', autocomplete: 'off', placeholder: 'red-1: forward 100, wheel left 20', 'aria-describedby': 'sheet-help' })
  );
  let timer = 0;
  area.addEventListener('input', () => {
    game.draft?.type(area.value);
    clearTimeout(timer);
    timer = setTimeout(() => game.draft?.readTyped(), PAUSE);
  });
  const post = el('section', { class: 'post', 'aria-label': 'Posting' });
  const writing = el(
    'div',
    { class: 'writing' },
    card,
    el('div', { class: 'row' }, el('h2', {}, 'Orders'), undo, redo),
    orders,
    battle,
    el('label', { for: 'sheet-text', class: 'over-text' }, 'The same sheet, typed'),
    area,
    el('p', { class: 'hint', id: 'sheet-help' }, 'One order a line, in plain words. Whatever you drag is written here; whatever you type moves the ghosts.'),
    faults,
    post,
    el('details', {}, el('summary', {}, 'The whole verdict with its ledgers'), words),
  );
  const waiting = el('div', { class: 'waiting' });

  const showAll = () => {
    const { draft } = game;
    writing.hidden = draft === null;
    put(waiting, draft ? null : whyNot(game));
    if (!draft) return unitCard(card, game);
    undo.disabled = !draft.history.canUndo;
    redo.disabled = !draft.history.canRedo;
    // What is being typed is the player's own until it has been read.
    if (area.value !== draft.text && (!draft.isTyped || area.value === '')) area.value = draft.text;
    put(note, notes(game));
    put(faults, faultList(draft));
    put(orders, orderList(game));
    put(words, draft.checked?.words ?? '');
    unitCard(card, game);
    battleOrders(battle, game);
    posted(post, game);
  };
  game.on(['draft', 'verdict', 'table', 'selection', 'mode', 'posting', 'link', 'news', 'story'], showAll);
  const leaf = el('div', { class: 'leaf sheet-leaf' }, note, waiting, writing);
  return { leaf, show: showAll };
}

/** @param {import('./game.js').Game} game */
function whyNot(game) {
  const { table } = game;
  if (game.at !== null) return el('p', { class: 'hint' }, 'The table is shown as it was then.');
  if (table.ended) return el('p', { class: 'hint' }, 'The game is over. Its whole record is under Story.');
  if (!game.seat || game.seat.role === 'spectator') return el('p', { class: 'hint' }, 'You look on. Tap a unit to see where it stands; the Story tells what happened.');
  if (game.side === null) return el('p', { class: 'hint' }, 'You have no side here. Disputes and rulings are under Post office.');
  return el('p', { class: 'hint' }, `${game.sideName(table.to_move ?? '')} to move. You will see here when they have posted.`);
}

/** @param {import('./game.js').Game} game */
function notes(game) {
  const { draft } = game;
  if (!draft) return [];
  const parts = [];
  if (draft.changes.length > 0) {
    parts.push(
      el(
        'div',
        { class: 'told', role: 'status' },
        el('p', {}, 'Something happened meanwhile; your sheet was measured again.'),
        el('ul', {}, draft.changes.map((change) => el('li', {}, change))),
        button('Seen', () => {
          draft.changes = [];
          game.tell('draft');
        }),
      ),
    );
  }
  if (draft.isOld) {
    parts.push(
      el(
        'div',
        { class: 'told' },
        el('p', {}, 'A sheet that you wrote for an earlier turn was not posted.'),
        button('Write on with it', () => {
          const kept = game.keeping.draft;
          draft.isOld = false;
          if (kept) draft.set({ ...kept.sheet, game_turn: game.table.game_turn });
        }),
        button('Throw it away', () => {
          draft.isOld = false;
          draft.keep();
          game.tell('draft');
        }),
      ),
    );
  }
  if (draft.trouble) parts.push(el('p', { class: 'told trouble', role: 'status' }, draft.trouble));
  return parts;
}

/** @param {import('./draft.js').Draft} draft */
function faultList(draft) {
  return draft.faults.map((fault) =>
    el(
      'div',
      { class: 'fault' },
      el('p', {}, el('b', {}, `Line ${fault.line}: `), fault.problem),
      fault.remedy ? el('p', { class: 'remedy' }, fault.remedy) : null,
      (fault.readings ?? []).map((reading) => button(reading, () => meant(draft, fault.line, reading), { class: 'quiet reading' })),
    ),
  );
}

/**
 * Puts the line that was meant in the place of the one that could not be read.
 * @param {import('./draft.js').Draft} draft
 * @param {number} line
 * @param {string} reading
 */
function meant(draft, line, reading) {
  const lines = draft.text.split('\n');
  lines[line - 1] = reading;
  draft.type(lines.join('\n'));
  draft.readTyped();
  const area = document.querySelector('#sheet-text');
  if (area instanceof HTMLTextAreaElement) area.value = draft.text;
}

/** @param {import('./game.js').Game} game */
function orderList(game) {
  const { draft } = game;
  if (!draft || draft.sheet.orders.length === 0) return [el('li', { class: 'hint none' }, 'None yet. Tap one of your units on the table, then drag a handle.')];
  const lines = draft.text.split('\n').filter((line) => line.trim() !== '' && !line.startsWith('turn ') && !line.startsWith('#'));
  const isAligned = lines.length === draft.sheet.orders.length && !draft.isTyped;
  return draft.sheet.orders.map((order, at) => orderLine(game, order, at, isAligned ? lines[at] : order.order));
}

/**
 * @param {import('./game.js').Game} game
 * @param {import('./types.js').Order} order
 * @param {number} at
 * @param {string} line
 */
function orderLine(game, order, at, line) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const verdict = draft.checked?.verdict;
  const found = [...(verdict?.moves ?? []), ...(verdict?.battles ?? [])].filter((part) => part.order === at);
  const ruling = found.find((part) => part.verdict === 'refused')?.verdict ?? found.find((part) => part.verdict === 'marginal')?.verdict ?? found[0]?.verdict ?? '';
  const reasons = found.flatMap((part) => part.reasons);
  const last = draft.sheet.orders.length - 1;
  const text = button(line, () => game.pick(order.unit ?? order.units?.[0] ?? order.attackers?.[0] ?? order.guns?.[0] ?? null), { class: 'line' });
  const item = el(
    'li',
    { 'data-ruling': ruling, draggable: 'true' },
    el('span', { class: 'sign', title: ruling, role: 'img', 'aria-label': ruling || 'not judged yet' }, sign(ruling)),
    text,
    el(
      'span',
      { class: 'tools' },
      button('↑', () => draft.set(carried(draft.sheet, at, at - 1)), { 'aria-label': `Order ${at + 1} earlier`, class: 'icon', disabled: at === 0 }),
      button('↓', () => draft.set(carried(draft.sheet, at, at + 1)), { 'aria-label': `Order ${at + 1} later`, class: 'icon', disabled: at === last }),
      button('×', () => draft.set(without(draft.sheet, at)), { 'aria-label': `Take order ${at + 1} off the sheet`, class: 'icon' }),
    ),
    reasons.map((reason) => el('p', { class: `reason ${reason.ruling}` }, reason.text)),
    remedies(draft, found, at),
  );
  item.addEventListener('dragstart', (event) => event.dataTransfer?.setData('text/x-order', String(at)));
  item.addEventListener('dragover', (event) => event.preventDefault());
  item.addEventListener('drop', (event) => {
    event.preventDefault();
    const from = Number(event.dataTransfer?.getData('text/x-order'));
    if (Number.isInteger(from)) draft.set(carried(draft.sheet, from, at));
  });
  return item;
}

/**
 * What the referee says would do instead, each a button.
 * @param {import('./draft.js').Draft} draft
 * @param {any[]} found
 * @param {number} at
 */
function remedies(draft, found, at) {
  const all = found.flatMap((part) => part.remedies ?? []).slice(0, 3);
  if (all.length === 0) return null;
  const put_ = (/** @type {import('./types.js').Leg[]} */ legs) => {
    const orders = draft.sheet.orders.map((order, place) => (place === at ? { ...order, legs } : order));
    draft.set({ ...draft.sheet, orders });
  };
  return el('div', { class: 'remedies' }, el('span', {}, `Would do (${counted(all.length, 'way')}): `), all.map((remedy) => button(remedy.words, () => put_(remedy.legs), { class: 'quiet' })));
}
