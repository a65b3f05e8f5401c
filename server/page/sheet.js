/** A turn sheet and what is done to it: every change gives a new sheet. What it means, the referee says. */

/** @typedef {import('./types.js').Sheet} Sheet */
/** @typedef {import('./types.js').Order} Order */
/** @typedef {import('./types.js').Leg} Leg */

const MOVES = ['move', 'move-together', 'arrive', 'withdraw'];
const FIGHTS = ['battle', 'fire'];

/**
 * A sheet without orders.
 * @param {{game_turn: number, to_move: string | null}} table
 * @returns {Sheet}
 */
export const blank = (table) => ({ game_turn: table.game_turn, side: table.to_move ?? '', orders: [] });

/**
 * The units that an order moves.
 * @param {Order} order
 * @returns {string[]}
 */
export function movers(order) {
  if (!MOVES.includes(order.order)) return [];
  return order.units ?? (order.unit ? [order.unit] : []);
}

/** @param {Order} order */
export const isFight = (order) => FIGHTS.includes(order.order);

/**
 * The place of the order that moves a unit; −1 when there is none.
 * @param {Sheet} sheet
 * @param {string} unit
 */
export const moveOf = (sheet, unit) => sheet.orders.findIndex((order) => movers(order).includes(unit));

/**
 * The place of the order that moves just these units; −1 when there is none.
 * @param {Sheet} sheet
 * @param {string[]} units
 */
export function moveOfAll(sheet, units) {
  return sheet.orders.findIndex((order) => {
    const moved = movers(order);
    return moved.length === units.length && units.every((unit) => moved.includes(unit));
  });
}

/**
 * The order put at a place, or, where there is none, behind the last move.
 * @param {Sheet} sheet
 * @param {number} place
 * @param {Order} order
 * @returns {Sheet}
 */
export function withOrder(sheet, place, order) {
  const orders = [...sheet.orders];
  if (place >= 0) {
    orders[place] = order;
  } else if (isFight(order) || order.order === 'give-way') {
    orders.push(order);
  } else {
    const fight = orders.findIndex(isFight);
    orders.splice(fight < 0 ? orders.length : fight, 0, order);
  }
  return { ...sheet, orders };
}

/**
 * The units moving by these legs, as one body if there are several. Whoever of them had another order loses it.
 * @param {Sheet} sheet
 * @param {string[]} units
 * @param {Leg[]} legs
 * @returns {{sheet: Sheet, place: number}}
 */
export function withLegs(sheet, units, legs) {
  const same = moveOfAll(sheet, units);
  if (same >= 0) {
    const next = withOrder(sheet, same, { ...sheet.orders[same], legs });
    return { sheet: next, place: same };
  }
  const others = sheet.orders.filter((order) => !movers(order).some((unit) => units.includes(unit)));
  /** @type {Order} */
  const order = units.length === 1 ? { order: 'move', unit: units[0], legs } : { order: 'move-together', units, legs };
  const next = withOrder({ ...sheet, orders: others }, -1, order);
  return { sheet: next, place: next.orders.indexOf(order) };
}

/**
 * @param {Sheet} sheet
 * @param {number} place
 * @returns {Sheet}
 */
export const without = (sheet, place) => ({ ...sheet, orders: sheet.orders.filter((_, at) => at !== place) });

/**
 * The sheet with an order taken out and put in at another place.
 * @param {Sheet} sheet
 * @param {number} from
 * @param {number} to
 * @returns {Sheet}
 */
export function carried(sheet, from, to) {
  const orders = [...sheet.orders];
  const [order] = orders.splice(from, 1);
  if (!order) return sheet;
  orders.splice(Math.max(0, Math.min(to, orders.length)), 0, order);
  return { ...sheet, orders };
}

/**
 * The sheet with other battles in the place of its own.
 * @param {Sheet} sheet
 * @param {Order[]} battles
 * @returns {Sheet}
 */
export const withBattles = (sheet, battles) => ({ ...sheet, orders: [...sheet.orders.filter((order) => !isFight(order)), ...battles] });

/**
 * The legs of an order that may be gone on with; none where there is no order.
 * @param {Sheet} sheet
 * @param {string[]} units
 * @returns {Leg[]}
 */
export function legsOf(sheet, units) {
  const place = moveOfAll(sheet, units);
  return place < 0 ? [] : sheet.orders[place].legs ?? [];
}

/**
 * The same sheet for another turn, when it is written on after the game has moved.
 * @param {Sheet} sheet
 * @param {{game_turn: number, to_move: string | null}} table
 * @returns {Sheet}
 */
export const forTurn = (sheet, table) => ({ ...sheet, game_turn: table.game_turn, side: table.to_move ?? sheet.side });
