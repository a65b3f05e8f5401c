/**
 * Signatures of postings (Ed25519) by a key of this device, where the browser has them. The key is made here, cannot be read out
 * again, and is kept beside the drafts. The page itself comes from the host: this tells others' hosts apart from the player, not
 * the host who serves the page.
 */

/** @typedef {{privateKey: CryptoKey, publicHex: string}} DeviceKey */
/**
 * What a signature covers, as `server/API.md` has it.
 * @typedef {{game: string, seat: string, kind: string, head: string, playerTurn: number, attempt: number, body: string, number?: string}} Signed
 */

const STORE = 'keys';

/**
 * @param {string} hex
 * @returns {Uint8Array}
 */
export const bytes = (hex) => Uint8Array.from(hex.match(/../g) ?? [], (pair) => parseInt(pair, 16));

/**
 * @param {Uint8Array} raw
 * @returns {string}
 */
export const hex = (raw) => Array.from(raw, (byte) => byte.toString(16).padStart(2, '0')).join('');

/**
 * A number, big end first.
 * @param {number} value
 * @param {number} size bytes
 */
function bigEnd(value, size) {
  const raw = new Uint8Array(size);
  for (let at = size - 1, rest = value; at >= 0; at -= 1, rest = Math.floor(rest / 256)) raw[at] = rest % 256;
  return raw;
}

/**
 * Bytes with their length before them.
 * @param {Uint8Array} raw
 */
const prefixed = (raw) => [bigEnd(raw.length, 4), raw];

/**
 * The bytes that are signed.
 * @param {Signed} parts
 * @returns {Promise<Uint8Array>}
 */
export async function message(parts) {
  const text = (/** @type {string} */ words) => new TextEncoder().encode(words);
  const body = new Uint8Array(await crypto.subtle.digest('SHA-256', text(parts.body)));
  const all = [
    text('post/v1'),
    ...prefixed(bytes(parts.game)),
    ...prefixed(text(parts.seat)),
    ...prefixed(text(parts.kind)),
    ...prefixed(bytes(parts.head)),
    bigEnd(parts.playerTurn, 8),
    bigEnd(parts.attempt, 4),
    ...prefixed(body),
    ...prefixed(bytes(parts.number ?? '')),
  ];
  const joined = new Uint8Array(all.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of all) {
    joined.set(part, at);
    at += part.length;
  }
  return joined;
}

/**
 * The seal of standing instructions.
 * @param {string} nonce
 * @param {unknown} instructions
 */
export async function seal(nonce, instructions) {
  const parts = [new TextEncoder().encode('instructions-seal/v1'), bytes(nonce), new TextEncoder().encode(canonical(instructions))];
  const whole = await new Blob(/** @type {BlobPart[]} */ (parts)).arrayBuffer();
  return hex(new Uint8Array(await crypto.subtle.digest('SHA-256', whole)));
}

/**
 * Plain data in canonical JSON (RFC 8785): names in order, no blanks.
 * @param {any} value
 * @returns {string}
 */
function canonical(value) {
  if (value === null || typeof value !== 'object') return JSON.stringify(value);
  const names = Object.keys(value).sort();
  return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(',')}}`;
}

/**
 * The header of a signed posting; none where this device has no key for the seat.
 * @param {Signed} parts
 * @returns {Promise<Record<string, string>>}
 */
export async function signatureHeader(parts) {
  const key = await kept(parts.seat);
  if (!key) return {};
  const signed = await message(parts);
  const signature = new Uint8Array(await crypto.subtle.sign('Ed25519', key.privateKey, /** @type {BufferSource} */ (signed)));
  return { 'Posting-Signature': `player-turn=${parts.playerTurn}, attempt=${parts.attempt}, key=${key.publicHex}, signature=${hex(signature)}` };
}

/**
 * A key for this device that nobody can read out; null where the browser makes none.
 * @returns {Promise<DeviceKey | null>}
 */
export async function fresh() {
  try {
    const pair = /** @type {CryptoKeyPair} */ (await crypto.subtle.generateKey('Ed25519', false, ['sign', 'verify']));
    const raw = new Uint8Array(await crypto.subtle.exportKey('raw', pair.publicKey));
    return { privateKey: pair.privateKey, publicHex: hex(raw) };
  } catch {
    return null;
  }
}

/**
 * Keeps a key for a seat.
 * @param {string} seat
 * @param {DeviceKey} key
 */
export async function keep(seat, key) {
  const store = await open('readwrite');
  await done(store.put(key, seat));
}

/**
 * The key of this device for a seat.
 * @param {string} seat
 * @returns {Promise<DeviceKey | null>}
 */
export async function kept(seat) {
  try {
    const store = await open('readonly');
    return (await done(store.get(seat))) ?? null;
  } catch {
    return null;
  }
}

/**
 * @param {IDBTransactionMode} mode
 * @returns {Promise<IDBObjectStore>}
 */
async function open(mode) {
  const asked = indexedDB.open('fieldpost', 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(STORE);
  const database = await done(asked);
  return database.transaction(STORE, mode).objectStore(STORE);
}

/**
 * @template T
 * @param {IDBRequest<T>} asked
 * @returns {Promise<T>}
 */
function done(asked) {
  return new Promise((resolve, reject) => {
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}
