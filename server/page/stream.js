/** The news of a game as they happen, read with `fetch` so that a session's key can be named; it comes again after a break. */

import { send, problem, Problem } from './api.js';

/** @typedef {import('./types.js').News} News */

/** Milliseconds before it is tried again, more each time up to the last. */
const PAUSES = [500, 1000, 2000, 5000, 15000];

/**
 * The events of a text stream: those that are whole, and what is left over. An event without data, such as a comment, is none.
 * @param {string} text
 * @returns {{news: News[], rest: string}}
 */
export function eventsOf(text) {
  const blocks = text.replaceAll('\r\n', '\n').split('\n\n');
  const rest = blocks.pop() ?? '';
  const news = [];
  for (const block of blocks) {
    const lines = block.split('\n').filter((line) => line.startsWith('data:'));
    const data = lines.map((line) => line.slice(5).trimStart()).join('\n');
    if (data) news.push(JSON.parse(data));
  }
  return { news, rest };
}

/**
 * Watches a game until told to stop.
 * @param {{game: string, key: string | null, after: () => number, onNews: (news: News[]) => void,
 *   onState: (state: 'heard' | 'lost' | 'refused') => void}} watching
 * @returns {() => void} stops it
 */
export function watch(watching) {
  const stop = new AbortController();
  void follow(watching, stop.signal);
  return () => stop.abort();
}

/**
 * @param {Parameters<typeof watch>[0]} watching
 * @param {AbortSignal} signal
 */
async function follow(watching, signal) {
  let failures = 0;
  while (!signal.aborted) {
    try {
      await listen(watching, signal, () => (failures = 0));
    } catch (error) {
      if (signal.aborted) return;
      if (error instanceof Problem && [401, 403, 404].includes(error.status)) {
        watching.onState('refused');
        return;
      }
    }
    if (signal.aborted) return;
    watching.onState('lost');
    const pause = PAUSES[Math.min(failures, PAUSES.length - 1)];
    failures += 1;
    await new Promise((resolve) => setTimeout(resolve, pause));
  }
}

/**
 * @param {Parameters<typeof watch>[0]} watching
 * @param {AbortSignal} signal
 * @param {() => void} onOpen
 */
async function listen(watching, signal, onOpen) {
  const answer = await send(`/v1/games/${watching.game}/events?after=${watching.after()}`, { key: watching.key, signal });
  if (!answer.ok || !answer.body) throw await problem(answer);
  onOpen();
  watching.onState('heard');
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    const { news, rest } = eventsOf(text + value);
    text = rest;
    if (news.length > 0) watching.onNews(news);
  }
}
