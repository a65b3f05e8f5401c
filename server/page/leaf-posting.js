/** The way of a sheet to the post office and back, as the player sees it. */

import { button, el, put } from './dom.js';
import { made, sent } from './posting.js';
import { counted, when } from './words.js';

/** @typedef {import('./game.js').Game} Game */

/** What the last posting came to, told until the next change. */
let told = /** @type {{game: string, parts: Node[]}} */ ({ game: '', parts: [] });
let isSending = false;

/**
 * @param {HTMLElement} part
 * @param {Game} game
 */
export function posted(part, game) {
  const { draft, keeping } = game;
  if (!draft) return put(part);
  const waiting = keeping.posting;
  if (waiting) return put(part, unanswered(game, waiting), tellings(game));
  const verdict = draft.checked?.verdict.verdict;
  const count = draft.sheet.orders.length;
  const mayPost = draft.isMeasured && verdict !== 'refused' && game.isHeard && !isSending;
  const label = count === 0 ? 'Post: every unit stands' : `Post ${counted(count, 'order')}`;
  const hint = !game.isHeard
    ? 'There is no connection. The sheet is kept here; nothing is sent by itself.'
    : verdict === 'refused'
      ? 'Some order is refused; nothing would move.'
      : 'All or nothing: the whole sheet is played at once, and cannot be taken back.';
  const post = button(label, () => void begin(game), { class: 'main', disabled: !(mayPost || (count === 0 && game.isHeard && !isSending && !draft.isTyped)) });
  put(part, post, el('p', { class: 'hint' }, hint), tellings(game));
}

/** @param {Game} game */
function tellings(game) {
  return told.game === game.id && told.parts.length > 0 ? el('div', { class: 'told', role: 'status' }, told.parts) : null;
}

/**
 * @param {Game} game
 * @param {import('./keeping.js').Posting} waiting
 */
function unanswered(game, waiting) {
  return el(
    'div',
    { class: 'told trouble' },
    el('p', {}, `Your sheet was sent ${when(waiting.sentAt)}, and no answer has come. Send the same again: if it has arrived, it counts once.`),
    button('Send the same again', () => void deliver(game, waiting), { class: 'main', disabled: isSending }),
  );
}

/** @param {Game} game */
async function begin(game) {
  const count = game.draft?.sheet.orders.length ?? 0;
  if (count === 0 && !confirm('The sheet has no orders. Post it, so that every unit stands this turn?')) return;
  await deliver(game, await made(game));
}

/**
 * @param {Game} game
 * @param {import('./keeping.js').Posting} posting
 */
async function deliver(game, posting) {
  isSending = true;
  told = { game: game.id, parts: [] };
  game.tell('posting');
  const outcome = await sent(game, posting).finally(() => (isSending = false));
  if (outcome.kind !== 'unanswered') game.link('heard');
  switch (outcome.kind) {
    case 'accepted':
      // What came of it is told from the news, whichever way they come first.
      await game.hear(outcome.news);
      game.dispatchEvent(new CustomEvent('accepted', { detail: outcome.first }));
      break;
    case 'refused':
      say(game, el('p', {}, 'The sheet is refused. Nothing moved.'), el('pre', {}, outcome.words));
      break;
    case 'stale':
      say(game, el('p', {}, 'Somebody was first: look at the table again, then post.'));
      await game.hear(outcome.news);
      break;
    case 'unanswered':
      game.link('lost');
      break;
    case 'later':
      say(game, el('p', {}, outcome.words));
      break;
    default:
      say(game, el('p', {}, outcome.words));
  }
  game.tell('posting');
}

/**
 * @param {Game} game
 * @param {...Node} parts
 */
function say(game, ...parts) {
  told = { game: game.id, parts };
}
