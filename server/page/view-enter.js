/** Coming in: by an invitation, by a link from another device, or with a key that is pasted. Always by a button. */

import { el, put } from './dom.js';
import { gameAddress } from './route.js';
import { byInvitation, byKey, byLink, deviceName, once } from './session.js';
import { fresh, keep } from './signing.js';

/** @typedef {import('./types.js').Session} Session */
/** @typedef {import('./page.js').View} View */

/**
 * @param {string} secret `id.secret` of the invitation
 * @param {Session | null} session
 * @returns {View}
 */
export function invitationView(secret, session) {
  const name = field('player', 'The name you play under', { autocomplete: 'nickname', maxlength: 60, required: true, 'data-first': true });
  const device = field('device', 'What this device is called in your list of sessions', { value: deviceName(), maxlength: 60 });
  const members = session?.keys.filter((key) => key.member) ?? [];
  const again = once();
  const signing = fresh();
  return form('An invitation to play', 'Take the seat', [name.whole, device.whole], async () => {
    const given = { invitation: secret, player: name.input.value, device: device.input.value, key: members[0]?.id ?? null, once: again };
    const deviceKey = await signing;
    const session = await byInvitation({ ...given, signs: deviceKey?.publicHex ?? null });
    const seat = session.keys.find((key) => key.id === session.entered)?.seat;
    if (seat && deviceKey) await keep(seat, deviceKey);
    enter(session);
  }, [el('p', {}, 'Somebody has kept a seat for you at a table. You play one player turn at a time, whenever it suits you.'), el('p', { class: 'hint' }, 'The secret of the invitation is no longer in the address of this page.')]);
}

/**
 * @param {string} secret
 * @returns {View}
 */
export function deviceView(secret) {
  const device = field('device', 'What this device is called in your list of sessions', { value: deviceName(), maxlength: 60, 'data-first': true });
  return form('Come in on this device, too', 'Come in', [device.whole], async () => {
    await byLink(secret, device.input.value);
    location.hash = '#games';
  }, [el('p', {}, 'The link works once. This device will then open the same seats as the one that made it.')]);
}

/** @returns {View} */
export function enterView() {
  const key = field('key', 'Your key', { type: 'password', autocomplete: 'off', required: true, spellcheck: 'false', 'data-first': true });
  const device = field('device', 'What this device is called in your list of sessions', { value: deviceName(), maxlength: 60 });
  return form('Come in with a key', 'Come in', [key.whole, device.whole], async () => {
    const session = await byKey(key.input.value.trim(), device.input.value);
    key.input.value = '';
    enter(session);
  }, [el('p', {}, 'A key looks like two words of letters and digits with a dot between. It is exchanged for a session, and not kept in this browser.'), el('p', { class: 'hint' }, 'With an invitation, open its link instead.')]);
}

/** @param {Session} session */
function enter(session) {
  const key = session.keys.find((key) => key.id === session.entered);
  location.hash = key?.game ? gameAddress(key.game, key.id) : '#games';
}

/**
 * @param {string} id
 * @param {string} label
 * @param {import('./dom.js').Attributes} attributes
 */
function field(id, label, attributes) {
  const input = /** @type {HTMLInputElement} */ (el('input', { id, ...attributes }));
  return { input, whole: el('p', { class: 'field' }, el('label', { for: id }, label), input) };
}

/**
 * @param {string} title
 * @param {string} label
 * @param {HTMLElement[]} fields
 * @param {() => Promise<void>} what
 * @param {HTMLElement[]} about
 * @returns {View}
 */
function form(title, label, fields, what, about) {
  const said = el('p', { class: 'told trouble', role: 'alert', hidden: true });
  const go = /** @type {HTMLButtonElement} */ (el('button', { type: 'submit', class: 'main' }, label));
  const whole = el('form', { class: 'enter' }, about, fields, go, said);
  whole.addEventListener('submit', async (event) => {
    event.preventDefault();
    go.disabled = true;
    said.hidden = true;
    try {
      await what();
    } catch (error) {
      said.hidden = false;
      put(said, error instanceof Error ? error.message : 'It did not work.');
    }
    go.disabled = false;
  });
  return { title, element: el('main', { class: 'plain' }, el('h1', {}, title), whole, el('p', {}, el('a', { href: '#games' }, 'Look at the games that are open to all'))) };
}

