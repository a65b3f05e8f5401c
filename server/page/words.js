/** Small words: places, bearings, times. Sentences about verdicts come from the referee. */

const WINDS = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'];

/**
 * A bearing as a point of the compass.
 * @param {number} degrees
 */
export const wind = (degrees) => WINDS[Math.round((((degrees % 360) + 360) % 360) / 45) % 8];

/**
 * One decimal, as the referee shows lengths and angles.
 * @param {number} value
 */
export const tenths = (value) => (Object.is(Math.round(value * 10), -0) ? 0 : Math.round(value * 10) / 10).toFixed(1);

/**
 * Where a unit stands, from the west and the south edge.
 * @param {import('./types.js').Place} place
 */
export const standing = (place) => `${tenths(place.x_mm / 10)} cm from the west edge, ${tenths(place.y_mm / 10)} cm from the south, facing ${wind(place.bearing_deg)} (${tenths(place.bearing_deg)}°)`;

/**
 * A count with its noun.
 * @param {number} count
 * @param {string} noun
 */
export const counted = (count, noun) => `${count} ${noun}${count === 1 ? '' : 's'}`;

/**
 * How long until a moment, in the largest measure that fits.
 * @param {string} moment RFC 3339
 * @param {number} [now]
 */
export function until(moment, now = Date.now()) {
  const minutes = Math.round((Date.parse(moment) - now) / 60000);
  const size = Math.abs(minutes);
  const span = size < 60 ? counted(size, 'minute') : size < 48 * 60 ? counted(Math.round(size / 60), 'hour') : counted(Math.round(size / 1440), 'day');
  return minutes < 0 ? `${span} ago` : `in ${span}`;
}

/**
 * A moment as the reader's own calendar tells it.
 * @param {string} moment
 */
export function when(moment) {
  return new Date(moment).toLocaleString(undefined, { dateStyle: 'medium', timeStyle: 'short' });
}

/** The sign beside a ruling's word: never colour alone. */
export const SIGNS = { legal: '✓', marginal: '≈', refused: '✕' };

/**
 * @param {string} ruling
 */
export const sign = (ruling) => SIGNS[/** @type {keyof typeof SIGNS} */ (ruling)] ?? '·';

/**
 * Some names as a sentence lists them.
 * @param {string[]} names
 */
export function list(names) {
  if (names.length < 2) return names.join('');
  return `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;
}
