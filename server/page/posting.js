/**
 * Posting a sheet. The very bytes, their key and the number for the dice are kept before they are sent: when the answer is lost
 * the same is sent again, by a button, and counts once.
 */

import { NoAnswer, problem, Problem, send } from './api.js';
import { randomHex } from './keeping.js';

/** @typedef {import('./keeping.js').Posting} Posting */
/**
 * What came of a posting.
 * @typedef {{kind: 'accepted', first: number, news: import('./types.js').News[]}
 *   | {kind: 'refused', words: string} | {kind: 'stale', news: import('./types.js').News[]}
 *   | {kind: 'unanswered'} | {kind: 'later', words: string} | {kind: 'failed', words: string}} Outcome
 */

/**
 * Makes a posting of the draft and keeps it.
 * @param {import('./game.js').Game} game
 * @returns {Promise<Posting>}
 */
export async function made(game) {
  const { draft, table, keeping } = game;
  if (!draft) throw new Error('There is no sheet to post.');
  const attempt = await game.attempt();
  const { number } = keeping.number(table.player_turn, attempt);
  const body = JSON.stringify({ sheet: draft.sheet, number });
  const posting = {
    body,
    head: table.head.hash,
    signature: await game.signature('sheet', body, number),
    once: randomHex(16),
    sentAt: new Date().toISOString(),
    playerTurn: table.player_turn,
  };
  keeping.posting = posting;
  return posting;
}

/**
 * Sends a posting that is kept.
 * @param {import('./game.js').Game} game
 * @param {Posting} posting
 * @returns {Promise<Outcome>}
 */
export async function sent(game, posting) {
  try {
    const headers = { ...posting.signature, 'If-Match': `"${posting.head}"`, 'Idempotency-Key': posting.once };
    const answer = await send(game.path('/sheets'), { method: 'POST', key: game.key, raw: posting.body, headers });
    if (answer.status === 201 || isVerdict(answer)) return settled(game, await answer.json());
    throw await problem(answer);
  } catch (error) {
    return notSettled(game, error);
  }
}

/** @param {Response} answer */
const isVerdict = (answer) => answer.status === 422 && (answer.headers.get('Content-Type') ?? '').startsWith('application/json');

/**
 * @param {import('./game.js').Game} game
 * @param {any} answer
 * @returns {Outcome}
 */
function settled(game, answer) {
  game.keeping.posting = null;
  if (answer.accepted) {
    game.keeping.draft = null;
    return { kind: 'accepted', first: answer.first, news: answer.news };
  }
  game.keeping.noteTurnedAway();
  return { kind: 'refused', words: answer.words };
}

/**
 * @param {import('./game.js').Game} game
 * @param {unknown} error
 * @returns {Outcome}
 */
function notSettled(game, error) {
  if (!(error instanceof Problem)) {
    // No answer, or half of one: it may have counted.
    if (error instanceof NoAnswer || error instanceof SyntaxError || error instanceof TypeError) return { kind: 'unanswered' };
    throw error;
  }
  if (error.status === 429 || error.status >= 500) return { kind: 'later', words: error.message };
  game.keeping.posting = null;
  game.keeping.noteTurnedAway();
  if (error.code === 'stale') return { kind: 'stale', news: error.body.news ?? [] };
  return { kind: 'failed', words: error.message };
}
