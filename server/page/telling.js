/** What the other side did, and what one's own posting came to, told step by step on the table before anything else. */

import { button, el, put } from './dom.js';

/** @typedef {import('./game.js').Game} Game */

/** Kinds of event that show something on the table or decide something. */
const QUIET = new Set(['opened', 'seat-taken', 'instructions-changed', 'secret-committed', 'key-added']);

/**
 * A card over the table that goes through the news one after another.
 * @param {Game} game
 */
export function telling(game) {
  const card = el('section', { class: 'telling', 'aria-label': 'What happened', hidden: true });
  const words = el('p', { class: 'say', 'aria-live': 'polite' });
  const count = el('p', { class: 'count' });
  /** @type {import('./types.js').News[]} */
  let steps = [];
  let at = 0;
  const next = button('Next', () => go(at + 1), { class: 'main' });
  const back = button('Back', () => go(at - 1));
  const end = button('To the table', () => close());
  put(card, count, words, el('div', { class: 'row' }, back, next, end));

  /** @param {number} step */
  function go(step) {
    if (step >= steps.length) return close();
    at = Math.max(0, step);
    put(words, steps[at].words);
    put(count, `${at + 1} of ${steps.length}`);
    back.disabled = at === 0;
    put(next, at === steps.length - 1 ? 'Done' : 'Next');
    card.hidden = false;
    void game.show(steps[at].number).catch(() => {});
  }

  function close() {
    card.hidden = true;
    game.keeping.read_last = game.lastNumber;
    void game.show(null).catch(() => {});
  }

  /**
   * Tells what came after an event.
   * @param {number} after
   */
  function tell(after) {
    steps = game.news.filter((news) => news.number > after && news.words !== '' && !QUIET.has(news.event));
    if (steps.length === 0) {
      game.keeping.read_last = game.lastNumber;
      return;
    }
    go(0);
    next.focus();
  }

  return { card, tell, get isOpen() { return !card.hidden; } };
}
