/** My games: whose turn it is, and how long there is. Games that are open to all come after them. */

import { ask } from './api.js';
import { el } from './dom.js';
import { gameAddress } from './route.js';
import { games } from './session.js';
import { until } from './words.js';

/** @typedef {import('./types.js').Session} Session */
/** @typedef {import('./types.js').GameCard} GameCard */
/** @typedef {import('./types.js').OwnGame} OwnGame */

/**
 * @param {Session | null} session
 * @returns {Promise<import('./page.js').View>}
 */
export async function gamesView(session) {
  const [own, open] = await Promise.all([session ? games() : { games: [] }, ask('/v1/games?limit=50')]);
  const mine = new Set(own.games.map((seat) => seat.game.id));
  const others = open.games.filter((/** @type {GameCard} */ game) => !mine.has(game.id));
  const organises = session?.keys.find((key) => key.role === 'organiser') ?? null;
  const waiting = own.games.filter((seat) => isMine(seat)).length;
  const element = el(
    'main',
    { class: 'plain games' },
    el('header', { class: 'masthead' }, el('h1', {}, 'Fieldpost'), el('nav', { 'aria-label': 'Yourself' }, session ? el('a', { href: '#devices' }, 'Sessions') : el('a', { href: '#enter' }, 'Come in with a key'), organises ? el('a', { href: `#organise=${organises.id}` }, 'Organise') : null)),
    session ? el('h2', {}, waiting > 0 ? `Your turn in ${waiting} of ${own.games.length}` : 'My games') : null,
    session ? el('ul', { class: 'cards' }, own.games.map(ownCard), own.games.length === 0 ? el('li', { class: 'hint' }, 'No seat of yours yet. Open the link of an invitation.') : null) : el('p', { class: 'lead' }, 'Two players, one battle of miniature figures, a turn at a time. The referee measures every move, and says by how much.'),
    el('h2', {}, 'Open to all'),
    el('ul', { class: 'cards' }, others.map(openCard), others.length === 0 ? el('li', { class: 'hint' }, 'None at present.') : null),
  );
  return { title: 'Games', element };
}

/** @param {OwnGame} seat */
const isMine = (seat) => seat.role === 'player' && seat.game.to_move === seat.side;

/** @param {OwnGame} seat */
function ownCard(seat) {
  const { game, clock } = seat;
  const mine = isMine(seat);
  const time = clock?.due ? `, ${until(clock.due)}` : '';
  const turn = game.ended ? 'Over' : mine ? `Your turn${time}` : `${sideName(game, game.to_move)} to move${time}`;
  const role = seat.role === 'player' ? `You play ${sideName(game, seat.side ?? null)}` : `You are ${seat.role}`;
  const points = (seat.scores ?? []).map((score) => `${sideName(game, score.side)} ${score.total}`).join(', ');
  return card(game, gameAddress(game.id, seat.key), turn, points ? `${role}. Points: ${points}` : role, mine);
}

/** @param {GameCard} game */
function openCard(game) {
  const turn = game.ended ? 'Over' : `${sideName(game, game.to_move)} to move`;
  return card(game, gameAddress(game.id, null), turn, players(game), false);
}

/** @param {GameCard} game */
const players = (game) => game.sides.map((side) => `${side.name}: ${side.player ?? 'seat free'}`).join(' — ');

/**
 * @param {GameCard} game
 * @param {string} address
 * @param {string} turn
 * @param {string} about
 * @param {boolean} mine
 */
function card(game, address, turn, about, mine) {
  return el('li', { class: mine ? 'card mine' : 'card' }, el('a', { href: address }, el('b', {}, game.name), el('span', { class: 'turn' }, turn), el('span', { class: 'about' }, about), el('span', { class: 'about' }, `Game turn ${game.game_turn} of ${game.game_turns}`)));
}

/**
 * @param {GameCard} game
 * @param {string | null} key
 */
const sideName = (game, key) => game.sides.find((side) => side.side === key)?.name ?? key ?? 'Nobody';
