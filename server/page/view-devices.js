/** The sessions of a holder: on which devices, a link for another one, and ending them. */

import { ask } from './api.js';
import { button, el, put } from './dom.js';
import { forgetAll } from './keeping.js';
import { signOut } from './session.js';
import { counted, until, when } from './words.js';

/** @typedef {import('./types.js').Session} Session */

/**
 * @param {Session} session
 * @returns {Promise<import('./page.js').View>}
 */
export async function devicesView(session) {
  const list = el('ul', { class: 'cards' });
  const said = el('p', { class: 'told', role: 'status', hidden: true });
  const link = el('div', { class: 'link' });
  const say = (/** @type {unknown} */ words) => {
    said.hidden = false;
    put(said, words instanceof Error ? words.message : String(words));
  };
  const fill = async () => {
    const { sessions } = await ask('/v1/sessions');
    put(list, sessions.map((/** @type {Session} */ one) => line(one, fill, say)));
  };
  await fill();
  const element = el(
    'main',
    { class: 'plain' },
    el('p', {}, el('a', { href: '#games' }, '‹ Games')),
    el('h1', {}, 'Sessions'),
    el('p', { class: 'hint' }, `This browser opens ${counted(session.keys.length, 'key')}. It has no key itself: end the session, and it opens nothing.`),
    said,
    list,
    el('div', { class: 'row' }, button('A link for another device', () => void another(link, say)), button('Sign out here', () => void leave(say), { class: 'main' }), button('End all sessions', () => void endAll(say))),
    link,
  );
  return { title: 'Sessions', element };
}

/**
 * @param {Session} one
 * @param {() => Promise<void>} again
 * @param {(words: unknown) => void} say
 */
function line(one, again, say) {
  const end = async () => {
    try {
      await ask(`/v1/sessions/${one.session}`, { method: 'DELETE' });
      if (one.own) location.hash = '#enter';
      else await again();
    } catch (error) {
      say(error);
    }
  };
  const who = one.keys.map((key) => key.player ?? key.member ?? key.role);
  return el('li', { class: 'card' }, el('div', {}, el('b', {}, one.device ?? 'A device without a name'), el('span', { class: 'about' }, `${[...new Set(who)].join(', ')}; since ${when(one.started_at)}${one.own ? '; this one' : ''}`)), button('End', () => void end(), { 'aria-label': `End the session on ${one.device ?? 'a device without a name'}` }));
}

/**
 * @param {HTMLElement} part
 * @param {(words: unknown) => void} say
 */
async function another(part, say) {
  try {
    const told = await ask('/v1/session/links', { method: 'POST', json: {} });
    put(part, code(told.qr), el('p', {}, `It works once, and ends ${until(told.expires_at)}:`), el('input', { readonly: true, value: told.address ?? `${location.origin}/#device=${told.link}`, 'aria-label': 'The link', class: 'address' }));
  } catch (error) {
    say(error);
  }
}

/**
 * A QR code that the server drew, as a picture.
 * @param {string | undefined} svg
 */
export function code(svg) {
  if (!svg) return null;
  return el('img', { class: 'qr', alt: 'The same link as a QR code', src: `data:image/svg+xml,${encodeURIComponent(svg)}` });
}

/** @param {(words: unknown) => void} say */
async function leave(say) {
  try {
    await signOut();
    if (confirm('Forget the drafts on this device, too?')) forgetAll();
    location.hash = '#games';
  } catch (error) {
    say(error);
  }
}

/** @param {(words: unknown) => void} say */
async function endAll(say) {
  try {
    await ask('/v1/sessions', { method: 'DELETE' });
    location.hash = '#enter';
  } catch (error) {
    say(error);
  }
}
