/** The organiser's desk: opening games, seats and invitations, members. */

import { ask, Problem } from './api.js';
import { button, el, put } from './dom.js';
import { gameAddress } from './route.js';
import { code } from './view-devices.js';
import { until } from './words.js';

/** @typedef {import('./types.js').Session} Session */

/**
 * @param {Session} session
 * @param {string | null} key
 * @returns {Promise<import('./page.js').View>}
 */
export async function organiseView(session, key) {
  const holder = session.keys.find((one) => one.id === key && one.role === 'organiser') ?? session.keys.find((one) => one.role === 'organiser');
  if (!holder) return { title: 'Organise', element: el('main', { class: 'plain' }, el('p', {}, 'No key of this session may organise.'), el('a', { href: '#games' }, 'Games')) };
  const said = el('div', { role: 'status' });
  const games = el('section', {});
  const members = el('section', {});
  const fill = async () => {
    const told = await ask('/v1/games?limit=100', { key: holder.id });
    put(games, el('h2', {}, 'Games'), told.games.reverse().map((/** @type {any} */ game) => gameLine(game, holder.id, said)));
  };
  const fillMembers = async () => put(members, ...(await memberParts(holder.id, fillMembers, said)));
  await Promise.all([fill(), fillMembers()]);
  const element = el('main', { class: 'plain' }, el('p', {}, el('a', { href: '#games' }, '‹ Games')), el('h1', {}, 'Organise'), said, await opening(holder.id, fill, said), games, members);
  return { title: 'Organise', element };
}

/**
 * @param {HTMLElement} said
 * @param {unknown} error
 */
function complain(said, error) {
  const faults = error instanceof Problem ? error.body.faults ?? [] : [];
  const words = error instanceof Error ? error.message : 'It did not work.';
  put(
    said,
    el(
      'div',
      { class: 'told trouble' },
      faults.length === 0 ? el('p', {}, words) : el('p', {}, `${faults.length} faults in the files:`),
      el('ol', { class: 'faults' }, faults.map((/** @type {import('./types.js').Fault} */ fault) => el('li', {}, el('b', {}, `${fault.file ?? 'file'}, line ${fault.line}, column ${fault.column}: `), fault.problem, fault.remedy ? el('p', { class: 'remedy' }, fault.remedy) : null))),
    ),
  );
}

/**
 * @param {string} key
 * @param {() => Promise<void>} again
 * @param {HTMLElement} said
 */
async function opening(key, again, said) {
  const { scenarios } = await ask('/v1/scenarios');
  const pick = /** @type {HTMLSelectElement} */ (el('select', { id: 'shipped' }, scenarios.map((/** @type {any} */ one) => el('option', { value: one.key }, one.name)), el('option', { value: '' }, 'Files of my own')));
  const about = el('p', { class: 'hint' });
  const files = /** @type {HTMLInputElement} */ (el('input', { type: 'file', multiple: true, accept: '.toml,text/plain', id: 'files' }));
  const drop = el('div', { class: 'drop', hidden: true }, el('label', { for: 'files' }, 'Ruleset and scenario, two TOML files; drop them here'), files);
  const open = /** @type {HTMLInputElement} */ (el('input', { type: 'checkbox', id: 'open-to-all' }));
  open.checked = true;
  const days = /** @type {HTMLInputElement} */ (el('input', { type: 'number', id: 'days', min: 1, max: 60, placeholder: 'no clock' }));
  pick.addEventListener('change', tell);
  function tell() {
    drop.hidden = pick.value !== '';
    put(about, scenarios.find((/** @type {any} */ one) => one.key === pick.value)?.about ?? 'Every fault is told with its line.');
  }
  tell();
  drop.addEventListener('dragover', (event) => event.preventDefault());
  drop.addEventListener('drop', (event) => {
    event.preventDefault();
    if (event.dataTransfer) files.files = event.dataTransfer.files;
  });
  const begin = async () => {
    put(said);
    try {
      const what = pick.value ? { shipped: pick.value } : { files: await read(files) };
      const clock = days.value ? { clock: { days_per_turn: Number(days.value) } } : {};
      const told = await ask('/v1/games', { key, json: { ...what, open_to_all: open.checked, ...clock } });
      put(said, el('div', { class: 'told' }, el('p', {}, `${told.game.name} is open. Hand each invitation to its player; it works once.`), told.invitations.map(invitation)));
      await again();
    } catch (error) {
      complain(said, error);
    }
  };
  return el(
    'section',
    { class: 'opening' },
    el('h2', {}, 'Open a game'),
    el('p', { class: 'field' }, el('label', { for: 'shipped' }, 'The battle'), pick),
    about,
    drop,
    el('p', {}, open, ' ', el('label', { for: 'open-to-all' }, 'Anybody may look on')),
    el('p', { class: 'field' }, el('label', { for: 'days' }, 'Days for each player turn'), days),
    button('Open it', () => void begin(), { class: 'main' }),
  );
}

/**
 * The dropped files by what is in them: a scenario has sides, a ruleset a scale.
 * @param {HTMLInputElement} input
 */
async function read(input) {
  const texts = await Promise.all(Array.from(input.files ?? [], async (file) => ({ name: file.name, text: await file.text() })));
  if (texts.length !== 2) throw new Error('Two files are needed: a ruleset and a scenario.');
  const isScenario = (/** @type {{text: string}} */ file) => /^\s*\[\[side\]\]/m.test(file.text);
  const scenario = texts.find(isScenario) ?? texts[1];
  return { scenario, ruleset: texts.find((file) => file !== scenario) };
}

/** @param {any} given */
function invitation(given) {
  const address = given.address ?? `${location.origin}/#invitation=${given.invitation}`;
  const box = /** @type {HTMLInputElement} */ (el('input', { readonly: true, value: address, class: 'address', 'aria-label': `Link for ${given.side ?? given.role}` }));
  const copy = button('Copy', () => void navigator.clipboard.writeText(address).then(() => put(copy, 'Copied')));
  return el('div', { class: 'invitation' }, el('h2', {}, given.side ?? given.role), code(given.qr), box, copy, el('p', { class: 'hint' }, `It ends ${until(given.expires_at)}.`));
}

/**
 * @param {any} game
 * @param {string} key
 * @param {HTMLElement} said
 */
function gameLine(game, key, said) {
  const seats = el('div', {});
  const line = el('details', { class: 'game-line' }, el('summary', {}, `${game.name}, game turn ${game.game_turn} of ${game.game_turns}`), el('a', { href: gameAddress(game.id, key) }, 'Look at the table'), seats);
  const act = async (/** @type {() => Promise<any>} */ what) => {
    try {
      const told = await what();
      if (told?.invitation) put(said, el('div', { class: 'told' }, invitation(told)));
      await fill();
    } catch (error) {
      complain(said, error);
    }
  };
  const path = `/v1/games/${game.id}`;
  const fill = async () => {
    const told = await ask(`${path}/seats`, { key });
    put(
      seats,
      el('ul', {}, told.seats.map((/** @type {any} */ seat) =>
        el('li', { class: 'row' }, `${seat.side ?? seat.role}: ${seat.player ?? 'free'}`, seat.player ? button('Free the seat', () => confirm('Free this seat? Its keys open nothing any more.') && void act(() => ask(`${path}/seats/${seat.seat}/player`, { method: 'DELETE', key }))) : button('Invite', () => void act(() => ask(`${path}/invitations`, { key, json: { seat: seat.seat } }))))),
      ),
      el('div', { class: 'row' }, button('Add an umpire', () => void act(() => ask(`${path}/seats`, { key, json: { role: 'umpire' } }))), button('Add a spectator', () => void act(() => ask(`${path}/seats`, { key, json: { role: 'spectator' } })))),
    );
  };
  line.addEventListener('toggle', () => void act(async () => null));
  return line;
}

/**
 * @param {string} key
 * @param {() => Promise<void>} again
 * @param {HTMLElement} said
 */
async function memberParts(key, again, said) {
  const { members } = await ask('/v1/members', { key });
  const name = /** @type {HTMLInputElement} */ (el('input', { id: 'member', maxlength: 60 }));
  const act = async (/** @type {() => Promise<any>} */ what) => {
    try {
      const told = await what();
      if (told?.key) put(said, el('div', { class: 'told' }, el('p', {}, `The key of ${told.member.name}, shown this once:`), el('input', { readonly: true, value: told.key, class: 'address', 'aria-label': 'The key' })));
      await again();
    } catch (error) {
      complain(said, error);
    }
  };
  return [
    el('h2', {}, 'Members'),
    el('ul', {}, members.map((/** @type {any} */ member) => el('li', { class: 'row' }, `${member.name} (${member.role})`, button('Another key', () => void act(() => ask(`/v1/members/${member.id}/key`, { method: 'POST', key }))), button('Remove', () => confirm(`Remove ${member.name}?`) && void act(() => ask(`/v1/members/${member.id}`, { method: 'DELETE', key })))))),
    el('div', { class: 'row' }, el('label', { for: 'member' }, 'Name'), name, button('Add a member', () => void act(() => ask('/v1/members', { key, json: { name: name.value } })))),
  ];
}
