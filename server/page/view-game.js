/** A game: the table, the tape under it, and the leaves beside it. */

import { button, el, put } from './dom.js';
import { Game } from './game.js';
import { Hand } from './hand.js';
import { tapped } from './leaf-battle.js';
import { officeLeaf } from './leaf-office.js';
import { sheetLeaf } from './leaf-sheet.js';
import { storyLeaf } from './leaf-story.js';
import { unitsLeaf } from './leaf-units.js';
import { Leaves } from './leaves.js';
import { Overlay } from './overlay.js';
import { TableView } from './table-view.js';
import { telling } from './telling.js';
import { tools } from './tools.js';
import { verdictLine } from './verdict-line.js';
import { until } from './words.js';

/**
 * @param {string} id
 * @param {import('./types.js').HeldKey | null} seat
 * @returns {Promise<import('./page.js').View>}
 */
export async function gameView(id, seat) {
  const game = new Game(id, seat);
  const view = new TableView();
  const hand = new Hand(game, () => view.mmOfPixel);
  const overlay = new Overlay(view, game, hand);
  const story = telling(game);
  const leaves = new Leaves([
    ['Sheet', sheetLeaf(game)],
    ['Units', unitsLeaf(game)],
    ['Story', storyLeaf(game)],
    ['Post office', officeLeafWhenOpen(game)],
  ]);
  bind(game, view, hand, overlay);
  const stage = el('section', { class: 'stage', 'aria-label': 'The table' }, view, tools(game, view, overlay), story.card);
  const element = el('main', { class: 'game' }, headline(game), stage, verdictLine(game, hand), leaves.element);
  await game.open();
  leaves.showAll();
  game.addEventListener('accepted', (event) => story.tell(/** @type {CustomEvent} */ (event).detail - 1));
  greet(game, story);
  return { title: game.table.name, element, close: () => game.close() };
}

/**
 * The post office is built when the table is known.
 * @param {Game} game
 */
function officeLeafWhenOpen(game) {
  const leaf = el('div', {});
  let built = false;
  const show = () => {
    if (built) return;
    built = true;
    const office = officeLeaf(game);
    put(leaf, office.leaf);
    office.show();
  };
  return { leaf, show };
}

/**
 * On coming back, what happened since is told first; a new reader is not told the whole game.
 * @param {Game} game
 * @param {ReturnType<typeof telling>} story
 */
function greet(game, story) {
  const last = game.keeping.read_last;
  if (game.side !== null && last > 0 && last < game.lastNumber) story.tell(last);
  else game.keeping.read_last = game.lastNumber;
  game.on(['news'], () => {
    if (!story.isOpen && document.visibilityState === 'visible' && game.at === null && game.side === null) game.keeping.read_last = game.lastNumber;
  });
  game.on(['draft'], () => {
    // The other side has posted while this page was open.
    if (game.isMyTurn && !story.isOpen && game.keeping.read_last < game.lastNumber && game.draft?.sheet.orders.length === 0 && game.at === null) story.tell(game.keeping.read_last);
  });
}

/** @param {Game} game */
function headline(game) {
  const title = el('h1', {});
  const turn = el('p', { class: 'turn' });
  const link = el('p', { class: 'link', role: 'status' });
  const show = () => {
    const { table, clock } = game;
    if (!table) return;
    put(title, table.name);
    const who = table.ended ? 'The game is over' : game.isMyTurn ? 'Your turn' : `${game.sideName(table.to_move ?? '')} to move`;
    const due = clock?.due && !table.ended ? `, ${until(clock.due)}` : '';
    if (game.at === null) put(turn, el('b', {}, who), `${due} · game turn ${table.game_turn} of ${table.game_turns}`);
    else put(turn, el('b', {}, `As it was after event ${game.at}`), ` · game turn ${table.game_turn} of ${table.game_turns}`);
    turn.toggleAttribute('data-mine', game.isMyTurn && game.at === null);
    put(link, game.isHeard ? '' : 'No connection. What you write is kept here; nothing is sent by itself.');
  };
  game.on(['table', 'clock', 'link', 'story'], show);
  return el('header', { class: 'headline' }, el('a', { href: '#games', 'aria-label': 'All games' }, '‹'), el('div', {}, title, turn), link);
}

/**
 * The table, the hand and the layer over it move each other.
 * @param {Game} game
 * @param {TableView} view
 * @param {Hand} hand
 * @param {Overlay} overlay
 */
function bind(game, view, hand, overlay) {
  const detail = (/** @type {Event} */ event) => /** @type {CustomEvent} */ (event).detail;
  game.on(['table'], () => {
    view.show(game.drawing);
    overlay.drawPlaces();
    overlay.draw();
  });
  game.on(['draft', 'verdict', 'live', 'mode', 'story'], () => overlay.draw());
  game.on(['selection'], () => {
    overlay.drawPlaces();
    overlay.draw();
    const member = game.looked && game.member(game.looked);
    // A base smaller than a thumb cannot be dragged by millimetres.
    if (member) view.comeNear({ x: member.pose.x_um / 1e3, y: member.pose.y_um / 1e3 }, game.picked.length > 0 ? member.frontageMm : Infinity);
  });
  view.addEventListener('looked', () => overlay.draw());
  view.addEventListener('tap', (event) => pick(overlay.unitAt(detail(event).at), detail(event).more));
  view.addEventListener('picked', (event) => pick(detail(event).id, detail(event).more));
  view.addEventListener('hold', (event) => hand.hold(detail(event).handle, detail(event).at));
  view.addEventListener('drag', (event) => hand.drag(detail(event).at));
  view.addEventListener('release', () => hand.release());
  view.addEventListener('drop', () => hand.drop());
  /**
   * @param {string | null} id
   * @param {boolean} more
   */
  function pick(id, more) {
    if (game.mode === 'battle' && id) tapped(game, id);
    else game.pick(id, more || game.isPickingMore);
  }
}
