/** What the page shows is told after the `#` of its address, which no server sees. Secrets are taken out of it at once. */

/**
 * @typedef {{view: 'games'} | {view: 'devices'} | {view: 'organise', key: string | null} | {view: 'enter'}
 *   | {view: 'game', game: string, key: string | null}
 *   | {view: 'invitation', secret: string} | {view: 'device', secret: string}} Route
 */

/**
 * @param {string} hash
 * @returns {Route}
 */
export function parse(hash) {
  const told = new URLSearchParams(hash.replace(/^#/, ''));
  const invitation = told.get('invitation');
  if (invitation) return { view: 'invitation', secret: invitation };
  const device = told.get('device');
  if (device) return { view: 'device', secret: device };
  const game = told.get('game');
  if (game && /^[0-9a-f]{32}$/.test(game)) return { view: 'game', game, key: told.get('seat') };
  if (told.has('devices')) return { view: 'devices' };
  if (told.has('organise')) return { view: 'organise', key: told.get('organise') || null };
  if (told.has('enter')) return { view: 'enter' };
  return { view: 'games' };
}

/**
 * The address of a game for a seat, or for a spectator.
 * @param {string} game
 * @param {string | null} key
 */
export const gameAddress = (game, key) => (key ? `#game=${game}&seat=${key}` : `#game=${game}`);

/**
 * What the address tells now. A secret in it is erased from the address and from the browser's history of this page.
 * @returns {Route}
 */
export function current() {
  const route = parse(location.hash);
  if (route.view === 'invitation' || route.view === 'device') history.replaceState(null, '', location.pathname);
  return route;
}
