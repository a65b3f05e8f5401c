/** The story: what happened, event by event, each with its ledger; the record as a scrubber over the table. */

import { button, el, put } from './dom.js';
import { when } from './words.js';

/** @typedef {import('./game.js').Game} Game */

/** @param {Game} game */
export function storyLeaf(game) {
  const slider = /** @type {HTMLInputElement} */ (el('input', { type: 'range', id: 'scrubber', min: 1, step: 1, 'aria-describedby': 'scrubber-now' }));
  const now = el('p', { class: 'now', id: 'scrubber-now', 'aria-live': 'polite' });
  const list = el('ol', { class: 'news' });
  let timer = 0;
  slider.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(() => void game.show(Number(slider.value)), 90);
  });
  const step = (/** @type {number} */ by) => void game.show(Math.min(game.lastNumber, Math.max(1, (game.at ?? game.lastNumber) + by)));
  const show = () => {
    const at = game.at ?? game.lastNumber;
    slider.max = String(Math.max(1, game.lastNumber));
    slider.value = String(at);
    const item = game.news.find((news) => news.number === at);
    slider.setAttribute('aria-valuetext', `event ${at} of ${game.lastNumber}`);
    put(now, game.at === null ? 'The table as it is now.' : `After event ${at} of ${game.lastNumber}: ${item?.words || item?.event || ''}`);
    list.querySelectorAll('li').forEach((line) => line.toggleAttribute('data-now', Number(line.dataset.number) === game.at));
  };
  const showNews = () => {
    const known = new Set(Array.from(list.children, (line) => Number(/** @type {HTMLElement} */ (line).dataset.number)));
    const fresh = game.news.filter((news) => !known.has(news.number) && news.words !== '');
    list.prepend(...fresh.reverse().map((news) => entry(game, news)));
    show();
  };
  game.on(['news'], showNews);
  game.on(['story', 'table'], show);
  const leaf = el(
    'div',
    { class: 'leaf story-leaf' },
    el('h2', {}, 'The record'),
    el(
      'div',
      { class: 'scrub' },
      el('label', { for: 'scrubber', class: 'unseen' }, 'Show the table as it was after an event'),
      button('‹', () => step(-1), { class: 'icon', 'aria-label': 'One event back' }),
      slider,
      button('›', () => step(1), { class: 'icon', 'aria-label': 'One event on' }),
      button('Now', () => void game.show(null), { class: 'quiet' }),
    ),
    now,
    list,
  );
  return { leaf, show: showNews };
}

/**
 * @param {Game} game
 * @param {import('./types.js').News} news
 */
function entry(game, news) {
  const ledger = el('pre', { class: 'words', hidden: true });
  const more = button('Ledger', () => void unfold(), { class: 'quiet', 'aria-expanded': 'false' });
  async function unfold() {
    if (ledger.hidden && ledger.textContent === '') {
      try {
        put(ledger, (await game.ask(`/events/${news.number}`)).words);
      } catch (error) {
        put(ledger, error instanceof Error ? error.message : 'It could not be fetched.');
      }
    }
    ledger.hidden = !ledger.hidden;
    more.setAttribute('aria-expanded', String(!ledger.hidden));
  }
  return el(
    'li',
    { 'data-number': news.number, 'data-event': news.event },
    el('p', { class: 'head' }, el('b', {}, String(news.number)), ' ', el('time', { datetime: news.at }, when(news.at))),
    el('p', { class: 'say' }, news.words),
    el('div', { class: 'row' }, button('Show the table then', () => void game.show(news.number), { class: 'quiet' }), more),
    ledger,
  );
}
