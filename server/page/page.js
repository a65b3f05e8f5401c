/** The page: which view is shown, and who one is. */

import { NoAnswer, Problem } from './api.js';
import { button, el, put } from './dom.js';
import { current } from './route.js';
import { own } from './session.js';
import { devicesView } from './view-devices.js';
import { deviceView, enterView, invitationView } from './view-enter.js';
import { gameView } from './view-game.js';
import { gamesView } from './view-games.js';
import { organiseView } from './view-organise.js';

/** @typedef {import('./route.js').Route} Route */
/** @typedef {import('./types.js').Session} Session */
/** @typedef {{element: HTMLElement, title: string, close?: () => void}} View */

const page = /** @type {HTMLElement} */ (document.getElementById('page'));
let close = () => {};
let shown = 0;

async function show() {
  shown += 1;
  const mine = shown;
  const route = current();
  close();
  close = () => {};
  try {
    const session = await own();
    const view = await viewOf(route, session);
    if (mine !== shown) return view.close?.();
    close = view.close ?? (() => {});
    document.title = `${view.title} · Fieldpost`;
    put(page, view.element);
    /** @type {HTMLElement | null} */ (page.querySelector('[data-first]'))?.focus();
  } catch (error) {
    if (mine === shown) put(page, trouble(error));
  }
}

/**
 * @param {Route} route
 * @param {Session | null} session
 * @returns {Promise<View> | View}
 */
function viewOf(route, session) {
  switch (route.view) {
    case 'invitation':
      return invitationView(route.secret, session);
    case 'device':
      return deviceView(route.secret);
    case 'enter':
      return enterView();
    case 'devices':
      return session ? devicesView(session) : enterView();
    case 'organise':
      return session ? organiseView(session, route.key) : enterView();
    case 'game':
      return gameView(route.game, session?.keys.find((key) => key.id === route.key) ?? null);
    default:
      return gamesView(session);
  }
}

/** @param {unknown} error */
function trouble(error) {
  const words = error instanceof Problem || error instanceof NoAnswer ? error.message : 'Something in this page went wrong. Load it anew; what you wrote is kept.';
  if (!(error instanceof Problem || error instanceof NoAnswer)) console.error(error);
  return el('main', { class: 'plain' }, el('h1', {}, 'This did not work'), el('p', { role: 'alert' }, words), button('Try again', () => void show()), ' ', el('a', { href: '#games' }, 'All games'));
}

window.addEventListener('hashchange', () => void show());
void show();
