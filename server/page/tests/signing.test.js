/** Signatures and seals against the check vectors of `rules-core/manual/record.md`. */

import assert from 'node:assert/strict';
import test from 'node:test';

import { bytes, hex, message, seal } from '../signing.js';

const run = (from) => hex(Uint8Array.from({ length: 32 }, (_, at) => from + at));
const body = `{"sheet":{"game_turn":4,"side":"red","orders":[]},"number":"${run(0x20)}"}`;
const parts = { game: '0192f0c1e8a07b3c9d4e5f60718293a4', seat: 'seat-red', kind: 'sheet', head: run(0x40), playerTurn: 7, attempt: 1, body, number: run(0x20) };

test('the bytes that are signed', async () => {
  const signed = await message(parts);
  assert.equal(signed.length, 168);
  assert.equal(hex(new Uint8Array(await crypto.subtle.digest('SHA-256', signed))), '98f722d5c63ebaeff373e22bfbf7703b303c41503e788396c0f10a6e4281ee4f');
});

test('the signature of a browser is that of the record', async () => {
  // A seed as a private key of PKCS #8 (RFC 8410).
  const pkcs8 = bytes(`302e020100300506032b657004220420${run(0x60)}`);
  const key = await crypto.subtle.importKey('pkcs8', pkcs8, 'Ed25519', false, ['sign']);
  const signature = new Uint8Array(await crypto.subtle.sign('Ed25519', key, await message(parts)));
  assert.equal(hex(signature), '72c6641dbfa84387f05ebcdec6f73a5114f96a846ed1cbea884620b92b9e49261ff7a80d46953d96f28cf97765758b3c1270029a927dfc61ab2853c3c0acc30e');
});

test('the seal of instructions does not depend on how they are written', async () => {
  const told = { units: {}, all: { give_way: null, follow_up: true } };
  assert.equal(await seal(run(0x80), told), 'c532377a9dbba81299562c06624b0f05a47f08b56cd5c706c361cd31fc0f1d95');
});
