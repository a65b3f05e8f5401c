/** The session of this browser: who one is here. The cookie itself is out of reach of this script. */

import { ask, Problem } from './api.js';
import { randomHex } from './keeping.js';

/** @typedef {import('./types.js').Session} Session */

/**
 * The session; null when there is none.
 * @returns {Promise<Session | null>}
 */
export async function own() {
  try {
    return await ask('/v1/session');
  } catch (error) {
    if (error instanceof Problem && error.status === 401) return null;
    throw error;
  }
}

/** What this device is called in the list of sessions, unless its holder says otherwise. */
export const deviceName = () => (matchMedia('(pointer: coarse)').matches ? 'A phone or tablet' : 'A computer');

/** The player's own time zone. */
export const zone = () => Intl.DateTimeFormat().resolvedOptions().timeZone;

/**
 * Takes a seat by an invitation. If the answer is lost, the same `once` again starts a session for the same seat.
 * @param {{invitation: string, player: string, device: string, key: string | null, signs: string | null, once: string}} taking
 *   `signs` is the public key by which this device signs
 * @returns {Promise<Session>}
 */
export function byInvitation({ invitation, player, device, key, signs, once }) {
  const json = { by: 'invitation', invitation, player, zone: zone(), device, ...(signs ? { key: signs } : {}) };
  return ask('/v1/session', { method: 'POST', json, key, headers: { 'Idempotency-Key': once } });
}

/**
 * @param {string} link
 * @param {string} device
 * @returns {Promise<Session>}
 */
export const byLink = (link, device) => ask('/v1/session', { method: 'POST', json: { by: 'link', link, device } });

/**
 * @param {string} key `id.secret`
 * @param {string} device
 * @returns {Promise<Session>}
 */
export const byKey = (key, device) => ask('/v1/session', { method: 'POST', json: { by: 'key', device }, headers: { Authorization: `Bearer ${key}` } });

/** A new value for a request that may be sent again. */
export const once = () => randomHex(16);

/** @returns {Promise<{games: import('./types.js').OwnGame[]}>} */
export const games = () => ask('/v1/session/games');

export const signOut = () => ask('/v1/session', { method: 'DELETE' });
