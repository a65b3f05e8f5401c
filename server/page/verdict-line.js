/** The referee's word under the table: the tape of the move in hand, and the ruling in words; read aloud once it has settled. */

import { el, put } from './dom.js';
import { amount } from './poses.js';
import { moveOfAll } from './sheet.js';
import { TapeStrip } from './tape-strip.js';
import { list, sign, tenths } from './words.js';

/** Milliseconds without a change after which a verdict is read aloud. */
const SETTLED = 700;

/**
 * @param {import('./game.js').Game} game
 * @param {import('./hand.js').Hand} hand
 */
export function verdictLine(game, hand) {
  const strip = new TapeStrip();
  const words = el('p', { class: 'ruling' });
  const aloud = el('p', { class: 'unseen', role: 'status', 'aria-live': 'polite' });
  const whole = el('section', { class: 'verdict-line', 'aria-label': 'The verdict', hidden: true }, words, strip, aloud);
  let timer = 0;
  const show = () => {
    const told = hand.isHeld ? ofHand(game, hand) : ofPicked(game);
    whole.hidden = !game.draft;
    if (!told || !game.mayWrite) {
      whole.dataset.ruling = '';
      strip.clear();
      return put(words, game.at === null ? '' : 'The table as it was then. Your sheet waits.');
    }
    whole.dataset.ruling = told.ruling;
    put(words, el('span', { class: 'sign', 'aria-hidden': 'true' }, sign(told.ruling)), told.words);
    if (told.move) strip.show(told.move);
    else strip.clear();
    clearTimeout(timer);
    timer = setTimeout(() => {
      if (aloud.textContent !== told.words) put(aloud, told.words);
    }, SETTLED);
  };
  game.on(['live', 'verdict', 'draft', 'selection', 'table', 'story'], show);
  return whole;
}

/** @typedef {{ruling: string, words: string, move: import('./types.js').MoveVerdict | null}} Told */

/**
 * @param {import('./game.js').Game} game
 * @param {import('./hand.js').Hand} hand
 * @returns {Told}
 */
function ofHand(game, hand) {
  const { verdict, leg } = hand;
  const end = hand.limit !== null && hand.stoppedBy ? `It may go ${tenths(hand.limit)}${leg?.leg === 'wheel' ? '°' : ' mm'} (${hand.stoppedBy}).` : '';
  if (!leg) return { ruling: 'asked', words: end || 'Drag: the referee measures as you go.', move: null };
  if (!verdict) return { ruling: 'asked', words: `${leg.leg} ${tenths(amount(leg))}. ${end}`, move: null };
  const move = verdict.moves[0] ?? null;
  const ruling = move?.verdict ?? 'asked';
  const names = (/** @type {string[]} */ ids) => list(ids.map((id) => game.name(id)));
  const halted = verdict.halted_by.length > 0 ? ` It ends in the halt zone of ${names(verdict.halted_by)}.` : '';
  const strikes = verdict.strikes.length > 0 ? ` It would strike ${names(verdict.strikes)}.` : '';
  const words = verdict.first?.text ?? verdict.reasons[0]?.text ?? `${ruling}. ${end}${halted}${strikes}`;
  return { ruling, words: ruling === 'refused' && verdict.first ? `${words} ${end}` : words, move };
}

/**
 * The order of the picked units as it stands on the sheet.
 * @param {import('./game.js').Game} game
 * @returns {Told | null}
 */
function ofPicked(game) {
  const { draft } = game;
  if (!draft) return null;
  if (draft.trouble) return { ruling: 'asked', words: draft.trouble, move: null };
  if (game.picked.length === 0) return whole(game);
  const place = moveOfAll(draft.sheet, game.picked);
  if (place < 0) return { ruling: 'asked', words: `${list(game.picked.map((id) => game.name(id)))}: no order yet. Drag a handle.`, move: null };
  const moves = draft.checked?.verdict.moves.filter((move) => move.order === place) ?? [];
  const worst = moves.find((move) => move.verdict === 'refused') ?? moves.find((move) => move.verdict === 'marginal') ?? moves[0];
  if (!worst) return { ruling: 'asked', words: 'The referee is asked…', move: null };
  const reason = worst.reasons[0]?.text ?? '';
  const stopped = worst.legs.map((leg) => leg.stopped_by).filter((by) => by !== undefined);
  const stop = stopped.length > 0 ? ` What stops it: ${stopped.join(', ')}.` : '';
  return { ruling: worst.verdict, words: reason || `${game.name(worst.unit)}: ${worst.verdict}.${stop}`, move: worst };
}

/**
 * The sheet as a whole.
 * @param {import('./game.js').Game} game
 * @returns {Told}
 */
function whole(game) {
  const draft = /** @type {import('./draft.js').Draft} */ (game.draft);
  const verdict = draft.checked?.verdict;
  if (draft.sheet.orders.length === 0) return { ruling: 'asked', words: 'Tap one of your units, then drag a handle.', move: null };
  if (!verdict) return { ruling: 'asked', words: 'The referee is asked…', move: null };
  const reason = verdict.reasons.find((reason) => reason.ruling === 'refused');
  const count = verdict.moves.filter((move) => move.verdict === 'refused').length + verdict.battles.filter((battle) => battle.verdict === 'refused').length;
  const words = verdict.verdict === 'refused' ? reason?.text ?? `${count} of the orders are refused.` : 'The sheet is ' + verdict.verdict + '.';
  return { ruling: verdict.verdict, words, move: null };
}
