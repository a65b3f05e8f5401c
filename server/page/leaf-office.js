/** The post office: clock, standing instructions, pause, leave, concession, dispute, notices. */

import { askText } from './api.js';
import { button, el, put } from './dom.js';
import { randomHex } from './keeping.js';
import { ruling } from './rulings.js';
import { seal } from './signing.js';
import { until, when } from './words.js';

/** @typedef {import('./game.js').Game} Game */

/** @param {Game} game */
export function officeLeaf(game) {
  const clock = el('section', { 'aria-label': 'The clock' });
  const said = el('p', { class: 'told', role: 'status', hidden: true });
  const own = el('div', {});
  const say = (/** @type {string} */ words) => {
    said.hidden = words === '';
    put(said, words);
  };
  const act = async (/** @type {() => Promise<unknown>} */ what, /** @type {string} */ done) => {
    try {
      await what();
      say(done);
    } catch (error) {
      say(error instanceof Error ? error.message : 'It could not be done.');
    }
  };
  const points = el('section', { 'aria-label': 'Points' });
  const show = () => {
    put(clock, clockParts(game, act));
    void score(points, game);
  };
  game.on(['clock', 'table'], show);
  if (game.side !== null) put(own, instructions(game, act), disputes(game, act), notices(game, act), conceding(game, act));
  if (game.seat?.role === 'umpire' || game.seat?.role === 'organiser') put(own, ruling(game, act));
  return { leaf: el('div', { class: 'leaf office-leaf' }, said, clock, points, own, records(game)), show };
}

/**
 * The points as they would be counted now.
 * @param {HTMLElement} part
 * @param {Game} game
 */
async function score(part, game) {
  const told = await game.ask('/score').catch(() => null);
  if (!told) return put(part);
  const figures = ['losses', 'exits', 'ground', 'total'];
  const head = el('tr', {}, el('td', {}), ['Losses', 'Exits', 'Ground', 'All'].map((name) => el('th', { scope: 'col' }, name)));
  const rows = told.scores.map((/** @type {any} */ one) => el('tr', {}, el('th', { scope: 'row' }, game.sideName(one.side)), figures.map((name) => el('td', { class: 'figure' }, String(one[name])))));
  put(part, el('h2', {}, 'Points as they would be counted now'), el('table', {}, el('thead', {}, head), el('tbody', {}, rows)));
}

/** @typedef {(what: () => Promise<unknown>, done: string) => Promise<void>} Act */

/**
 * @param {Game} game
 * @param {Act} act
 */
function clockParts(game, act) {
  const { clock } = game;
  if (!clock?.rules) return [el('h2', {}, 'The clock'), el('p', { class: 'hint' }, 'This game is played without a clock.')];
  const lines = clock.sides.map((side) => el('li', {}, `${game.sideName(side.side)}: ${side.saved} days saved, ${side.leave_left} days of leave left, days of ${side.zone}${side.asks_pause ? ', asks for a pause' : ''}`));
  const due = clock.due ? `${game.sideName(clock.to_move ?? '')} must post by ${when(clock.due)} (${until(clock.due)}).` : clock.is_paused ? 'The clocks stand.' : '';
  const post = (/** @type {string} */ kind, /** @type {string} */ done) => button(done, () => void act(() => game.act(`/clock/${kind}`, kind), `${done}: done.`));
  const mine = game.side === null ? null : el('div', { class: 'row' }, clock.is_paused ? post('resume', 'Go on') : post('pause', 'Ask for a pause'), clock.is_out ? post('claim', 'Claim the game') : null);
  return [el('h2', {}, 'The clock'), el('p', {}, due), el('ul', {}, lines), mine, game.side === null ? null : leave(game, act)];
}

/**
 * @param {Game} game
 * @param {Act} act
 */
function leave(game, act) {
  const from = /** @type {HTMLInputElement} */ (el('input', { type: 'date', id: 'leave-from' }));
  const days = /** @type {HTMLInputElement} */ (el('input', { type: 'number', id: 'leave-days', min: 1, max: 60, value: 7 }));
  const take = button('Take leave', () => void act(() => game.act('/clock/leave', 'leave', { from: from.value, days: Number(days.value) }), 'Your leave is entered.'));
  return el('div', { class: 'row' }, el('label', { for: 'leave-from' }, 'Leave from'), from, el('label', { for: 'leave-days' }, 'days'), days, take);
}

/**
 * @param {Game} game
 * @param {Act} act
 */
function instructions(game, act) {
  const body = el('div', {});
  const whole = el('details', {}, el('summary', {}, 'Standing instructions'), el('p', { class: 'hint' }, 'What your units do in the other side’s turn. They stay sealed; the other side sees only that they changed.'), body);
  whole.addEventListener('toggle', () => void act(fill, ''));
  async function fill() {
    if (!(/** @type {HTMLDetailsElement} */ (whole).open)) return;
    const told = await game.ask('/instructions');
    const now = told.instructions ?? { all: { follow_up: false, give_way: null }, units: {} };
    const rows = [{ id: 'all', name: 'All' }, ...game.table.units.filter((unit) => unit.side === game.side && unit.state !== 'gone')];
    const read = rows.map((unit) => instruction(unit, unit.id === 'all' ? now.all : now.units[unit.id]));
    put(
      body,
      el('table', {}, el('thead', {}, el('tr', {}, ['Unit', 'Follows up', 'Gives way first'].map((head) => el('th', { scope: 'col' }, head)))), el('tbody', {}, read.map((row) => row.line))),
      button('Seal these', () => {
        const units = Object.fromEntries(read.slice(1).flatMap((row) => (row.value() ? [[row.id, row.value()]] : [])));
        void act(() => sealed(game, { all: read[0].value() ?? { follow_up: false, give_way: null }, units }), 'Sealed.');
      }),
    );
  }
  return whole;
}

/**
 * Standing instructions are signed as their seal, so that they can stay sealed.
 * @param {Game} game
 * @param {{all: unknown, units: Record<string, unknown>}} told
 */
async function sealed(game, told) {
  const nonce = randomHex(32);
  const signature = await game.signature('instructions', JSON.stringify({ seal: await seal(nonce, told) }));
  const name = 'Posting-Signature';
  /** @type {Record<string, string>} */
  const signed = signature[name] ? { [name]: `${signature[name]}, nonce=${nonce}` } : {};
  return game.ask('/instructions', { method: 'PUT', json: told, headers: { 'If-Match': `"${game.table.head.hash}"`, ...signed } });
}

/**
 * A line of the table of instructions; its value is null where the unit does as all do.
 * @param {{id: string, name: string}} unit
 * @param {{follow_up: boolean, give_way: string | null} | undefined} now
 */
function instruction(unit, now) {
  const own = /** @type {[string, string][]} */ ([['', 'as all'], ['yes', 'yes'], ['no', 'no, it holds']]);
  const ways = /** @type {[string, string][]} */ ([['', 'either side'], ['left', 'left'], ['right', 'right']]);
  const pick = (/** @type {[string, string][]} */ all, /** @type {string} */ label) =>
    /** @type {HTMLSelectElement} */ (el('select', { 'aria-label': `${unit.name}: ${label}` }, all.map(([value, words]) => el('option', { value }, words))));
  const follow = pick(unit.id === 'all' ? own.slice(1) : own, 'follows up');
  const way = pick(ways, 'gives way first');
  follow.value = now ? (now.follow_up ? 'yes' : 'no') : unit.id === 'all' ? 'no' : '';
  way.value = now?.give_way ?? '';
  const value = () => (follow.value === '' && way.value === '' ? null : { follow_up: follow.value === 'yes', give_way: way.value || null });
  return { id: unit.id, line: el('tr', {}, el('th', { scope: 'row' }, unit.name), el('td', {}, follow), el('td', {}, way)), value };
}

/**
 * @param {Game} game
 * @param {Act} act
 */
function disputes(game, act) {
  const text = /** @type {HTMLTextAreaElement} */ (el('textarea', { id: 'dispute', rows: 3, maxlength: 2000 }));
  const about = /** @type {HTMLInputElement} */ (el('input', { type: 'number', id: 'dispute-about', min: 1 }));
  const send = button('Ask the umpire', () => {
    const json = { text: text.value, ...(about.value ? { about: Number(about.value) } : {}) };
    void act(() => game.act('/disputes', 'dispute', json), 'The umpire is asked. The question stands in the record.');
  });
  return el('details', {}, el('summary', {}, 'Dispute something'), el('label', { for: 'dispute' }, 'What the umpire should look at'), text, el('label', { for: 'dispute-about' }, 'About event number (may be left out)'), about, send);
}

/**
 * @param {Game} game
 * @param {Act} act
 */
function notices(game, act) {
  const mail = /** @type {HTMLInputElement} */ (el('input', { type: 'email', id: 'mail', autocomplete: 'email' }));
  const trouble = el('p', { class: 'hint' });
  const set = button('Set', () => void act(() => game.ask('/notices', { method: 'PUT', json: { mail: mail.value || null, webhook: webhook } }), mail.value ? 'Notices go there.' : 'No more mails.'));
  /** @type {string | null} */
  let webhook = null;
  const whole = el('details', {}, el('summary', {}, 'Tell me by mail'), el('label', { for: 'mail' }, 'Address; empty: no mails'), mail, set, trouble);
  whole.addEventListener('toggle', () => {
    void act(async () => {
      if (!(/** @type {HTMLDetailsElement} */ (whole).open)) return;
      const told = await game.ask('/notices');
      mail.value = told.mail?.address ?? '';
      webhook = told.webhook?.address ?? null;
      put(trouble, told.ways.includes('mail') ? told.mail?.trouble ?? '' : 'This server sends no mail.');
    }, '');
  });
  return whole;
}

/**
 * @param {Game} game
 * @param {Act} act
 */
function conceding(game, act) {
  const concede = button('Concede the game', () => {
    if (confirm('Concede? The game is over then, and cannot be gone on with.')) void act(() => game.act('/concession', 'concession'), 'You have conceded.');
  });
  return el('details', {}, el('summary', {}, 'Concede'), el('p', { class: 'hint' }, 'The other side has won when you concede.'), concede);
}

/** @param {Game} game */
function records(game) {
  return el(
    'section',
    {},
    el('h2', {}, 'The record'),
    el('p', { class: 'hint' }, 'The record can be checked from nothing: chain, dice and every verdict. A page that a host serves cannot protect you from that host; the command line can.'),
    button('Save the record', () => void save(game)),
    el('p', { class: 'hint' }, `The last event is ${game.table.head.number}: ${game.table.head.hash}.`),
  );
}

/** @param {Game} game */
async function save(game) {
  const text = await askText(game.path('/record'), { key: game.key });
  const link = /** @type {HTMLAnchorElement} */ (el('a', { href: URL.createObjectURL(new Blob([text], { type: 'application/x-ndjson' })), download: `${game.id}.ndjson` }));
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}
