/** Asking the server: one door for all requests, and what can go wrong with them. */

/** What the server answered when it could not do what was asked (RFC 9457). */
export class Problem extends Error {
  /**
   * @param {number} status
   * @param {Record<string, any>} body
   */
  constructor(status, body) {
    super(body.detail ?? body.title ?? `The server answered ${status}.`);
    this.status = status;
    this.body = body;
    /** The problem's code, such as `stale`. */
    this.code = String(body.type ?? '').split('/').pop() ?? '';
  }
}

/** No answer came: whether the server has done what was asked is not known. */
export class NoAnswer extends Error {
  constructor() {
    super('No answer came from the server. Nothing that you wrote is lost.');
  }
}

/**
 * @typedef {object} Asking
 * @property {string} [method]
 * @property {string | null} [key] id of the session's key that asks; none: as somebody without a key
 * @property {unknown} [json] body as JSON
 * @property {string} [text] body as plain text
 * @property {string} [raw] body that is JSON already, to be sent as it is
 * @property {Record<string, string>} [headers]
 * @property {AbortSignal} [signal]
 */

/**
 * @param {string} path
 * @param {Asking} [asking]
 * @returns {Promise<Response>}
 */
export async function send(path, asking = {}) {
  const headers = new Headers(asking.headers);
  if (asking.key) headers.set('Fieldpost-Key', asking.key);
  let body = asking.text ?? asking.raw;
  if (asking.json !== undefined) body = JSON.stringify(asking.json);
  if (body !== undefined) headers.set('Content-Type', asking.text === undefined ? 'application/json' : 'text/plain');
  const method = asking.method ?? (body === undefined ? 'GET' : 'POST');
  try {
    return await fetch(path, { method, headers, body, signal: asking.signal, cache: 'no-cache', credentials: 'same-origin' });
  } catch (error) {
    if (error instanceof DOMException && error.name === 'AbortError') throw error;
    throw new NoAnswer();
  }
}

/**
 * Asks and reads JSON.
 * @param {string} path
 * @param {Asking} [asking]
 * @returns {Promise<any>}
 */
export async function ask(path, asking = {}) {
  const answer = await send(path, asking);
  if (!answer.ok) throw await problem(answer);
  if (answer.status === 204) return null;
  return read(answer.json());
}

/**
 * Asks and reads text.
 * @param {string} path
 * @param {Asking} [asking]
 * @returns {Promise<string>}
 */
export async function askText(path, asking = {}) {
  const answer = await send(path, asking);
  if (!answer.ok) throw await problem(answer);
  return read(answer.text());
}

/**
 * The problem that an answer tells.
 * @param {Response} answer
 * @returns {Promise<Problem>}
 */
export async function problem(answer) {
  const body = await answer.json().catch(() => ({}));
  return new Problem(answer.status, body);
}

/**
 * An answer that breaks off is none.
 * @template T
 * @param {Promise<T>} body
 * @returns {Promise<T>}
 */
async function read(body) {
  try {
    return await body;
  } catch {
    throw new NoAnswer();
  }
}
