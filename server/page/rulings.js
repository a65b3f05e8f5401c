/** The umpire's word on a dispute: a text, the event it is about, and what follows from it. */

import { button, el } from './dom.js';

/** What a ruling may do besides being said. */
const THEN = /** @type {[string, string][]} */ ([
  ['', 'nothing more'],
  ['more-time', 'more days for whoever is to move'],
  ['pass', 'the turn passes'],
  ['pause', 'the clocks stand'],
  ['resume', 'the clocks go on'],
]);

/**
 * @param {import('./game.js').Game} game
 * @param {(what: () => Promise<unknown>, done: string) => Promise<void>} act
 */
export function ruling(game, act) {
  const text = /** @type {HTMLTextAreaElement} */ (el('textarea', { id: 'ruling', rows: 3, maxlength: 2000 }));
  const about = /** @type {HTMLInputElement} */ (el('input', { type: 'number', id: 'ruling-about', min: 1 }));
  const then = /** @type {HTMLSelectElement} */ (el('select', { id: 'ruling-then' }, THEN.map(([value, words]) => el('option', { value }, words))));
  const days = /** @type {HTMLInputElement} */ (el('input', { type: 'number', id: 'ruling-days', min: 1, max: 60, value: 3 }));
  const send = button('Rule', () => {
    const follows = then.value === 'more-time' ? { do: then.value, days: Number(days.value) } : { do: then.value };
    const json = { text: text.value, ...(about.value ? { about: Number(about.value) } : {}), ...(then.value ? { then: follows } : {}) };
    void act(() => game.act('/rulings', 'ruling', json), 'The ruling stands in the record.');
  });
  return el(
    'section',
    { 'aria-label': 'Rulings' },
    el('h2', {}, 'A ruling'),
    el('label', { for: 'ruling' }, 'What is ruled, and why'),
    text,
    el('div', { class: 'row' }, el('label', { for: 'ruling-about' }, 'About event'), about, el('label', { for: 'ruling-then' }, 'Then'), then, el('label', { for: 'ruling-days' }, 'days'), days),
    send,
  );
}
