/**
 * Where legs end: the only arithmetic of the table that the page does, so that a ghost moves at every frame. The referee judges;
 * its vectors (`vectors/legs.json`) check this file. A pose is kept in whole micrometres and micro-degrees, as the record has it.
 */

/** @typedef {import('./types.js').Pose} Pose */
/** @typedef {import('./types.js').Leg} Leg */
/** @typedef {{x: number, y: number}} Point millimetres */
/** @typedef {{x: number, y: number, ahead: Point}} Placement front's middle, and the unit vector ahead */
/** @typedef {{centre: Point, ahead: Point, halfFrontage: number, halfDepth: number}} Rectangle */
/**
 * A unit that moves: where it stands and how big it is.
 * @typedef {{pose: Pose, files: number, bases: number, baseMm: [number, number], frontageMm: number, depthMm: number}} Member
 */

const TURN_UDEG = 360_000_000;
const QUARTER_UDEG = 90_000_000;

/** @param {number} degrees */
const radians = (degrees) => (degrees * Math.PI) / 180;

/** @param {import('./types.js').Hand | undefined} side */
export const sign = (side) => (side === 'left' ? -1 : 1);

/**
 * A vector turned clockwise.
 * @param {Point} vector
 * @param {number} rad
 * @returns {Point}
 */
export function turned(vector, rad) {
  const [sine, cosine] = [Math.sin(rad), Math.cos(rad)];
  return { x: vector.x * cosine + vector.y * sine, y: vector.y * cosine - vector.x * sine };
}

/**
 * The vector a quarter clockwise.
 * @param {Point} vector
 * @returns {Point}
 */
export const right = (vector) => ({ x: vector.y, y: -vector.x });

/**
 * @param {Point} from
 * @param {Point} by
 * @param {number} [times]
 * @returns {Point}
 */
export const plus = (from, by, times = 1) => ({ x: from.x + by.x * times, y: from.y + by.y * times });

/**
 * @param {Point} a
 * @param {Point} b
 */
export const dot = (a, b) => a.x * b.x + a.y * b.y;

/**
 * The pose in millimetres. Quarter turns are exact.
 * @param {Pose} pose
 * @returns {Placement}
 */
export function placement(pose) {
  const bearing = ((pose.bearing_udeg % TURN_UDEG) + TURN_UDEG) % TURN_UDEG;
  const within = radians((bearing % QUARTER_UDEG) / 1e6);
  let ahead = { x: Math.sin(within), y: Math.cos(within) };
  for (let quarter = Math.floor(bearing / QUARTER_UDEG); quarter > 0; quarter -= 1) ahead = right(ahead);
  return { x: pose.x_um / 1e3, y: pose.y_um / 1e3, ahead };
}

/**
 * The stored pose nearest to a placement.
 * @param {Placement} placed
 * @returns {Pose}
 */
export function stored(placed) {
  const bearing = Math.round((Math.atan2(placed.ahead.x, placed.ahead.y) * 180e6) / Math.PI);
  return { x_um: Math.round(placed.x * 1e3), y_um: Math.round(placed.y * 1e3), bearing_udeg: ((bearing % TURN_UDEG) + TURN_UDEG) % TURN_UDEG };
}

/**
 * A pose of a place as people see it.
 * @param {import('./types.js').Place} place
 * @returns {Pose}
 */
export function poseOf(place) {
  return { x_um: Math.round(place.x_mm * 1e3), y_um: Math.round(place.y_mm * 1e3), bearing_udeg: Math.round(place.bearing_deg * 1e6) };
}

/**
 * The rectangle that a unit covers.
 * @param {Member} member
 * @returns {Rectangle}
 */
export function rectangle(member) {
  const placed = placement(member.pose);
  const halfDepth = member.depthMm / 2;
  return { centre: plus(placed, placed.ahead, -halfDepth), ahead: placed.ahead, halfFrontage: member.frontageMm / 2, halfDepth };
}

/**
 * A point of a rectangle, so far to the right and ahead of its centre.
 * @param {Rectangle} rect
 * @param {number} across
 * @param {number} ahead
 * @returns {Point}
 */
export const spot = (rect, across, ahead) => plus(plus(rect.centre, right(rect.ahead), across), rect.ahead, ahead);

/**
 * Front left, front right, rear right, rear left.
 * @param {Rectangle} rect
 * @returns {Point[]}
 */
export function corners(rect) {
  const { halfFrontage: wide, halfDepth: deep } = rect;
  return [spot(rect, -wide, deep), spot(rect, wide, deep), spot(rect, wide, -deep), spot(rect, -wide, -deep)];
}

/**
 * The rectangle by which a body moves: the least one along the first member's bearing that holds all.
 * @param {Member[]} members
 * @returns {Rectangle}
 */
export function bodyRectangle(members) {
  const first = rectangle(members[0]);
  if (members.length === 1) return first;
  let [left, most, rear, front] = [-first.halfFrontage, first.halfFrontage, -first.halfDepth, first.halfDepth];
  for (const corner of members.flatMap((member) => corners(rectangle(member)))) {
    const offset = { x: corner.x - first.centre.x, y: corner.y - first.centre.y };
    const [across, ahead] = [dot(offset, right(first.ahead)), dot(offset, first.ahead)];
    [left, most] = [Math.min(left, across), Math.max(most, across)];
    [rear, front] = [Math.min(rear, ahead), Math.max(front, ahead)];
  }
  return { centre: spot(first, (left + most) / 2, (rear + front) / 2), ahead: first.ahead, halfFrontage: (most - left) / 2, halfDepth: (front - rear) / 2 };
}

/**
 * How far a leg goes: millimetres, of a wheel degrees. What has no number goes nowhere until the referee says how far.
 * @param {Leg} leg
 * @returns {number}
 */
export function amount(leg) {
  const told = leg.leg === 'wheel' ? leg.angle_deg : leg.distance_mm;
  return typeof told === 'number' ? told : 0;
}

/**
 * The direction of a straight leg as a vector of one millimetre; null for a leg of another kind.
 * @param {Leg} leg
 * @param {Point} ahead
 * @returns {Point | null}
 */
export function direction(leg, ahead) {
  switch (leg.leg) {
    case 'forward':
      return ahead;
    case 'back':
      return { x: -ahead.x, y: -ahead.y };
    case 'sidestep':
      return turned(ahead, sign(leg.side) * (Math.PI / 2));
    case 'oblique':
      return turned(ahead, sign(leg.side) * radians(Number(leg.angle_deg ?? 0)));
    default:
      return null;
  }
}

/**
 * The members after one leg.
 * @param {Member[]} members
 * @param {Leg} leg
 * @returns {Member[]}
 */
export function afterLeg(members, leg) {
  const body = bodyRectangle(members);
  const way = direction(leg, body.ahead);
  if (way) {
    const shift = { x: way.x * amount(leg), y: way.y * amount(leg) };
    return members.map((member) => at(member, shifted(placement(member.pose), shift)));
  }
  switch (leg.leg) {
    case 'wheel': {
      const pivot = spot(body, sign(leg.side) * body.halfFrontage, body.halfDepth);
      return members.map((member) => at(member, about(placement(member.pose), pivot, sign(leg.side) * radians(amount(leg)))));
    }
    case 'turn':
      return members.map((member) => onItsSpot(member, sign(leg.side) * (Math.PI / 2)));
    case 'about':
      return members.map((member) => onItsSpot(member, Math.PI));
    case 'align':
      return members.map((member) => {
        const placed = placement(member.pose);
        return at(member, about(placed, placed, sign(leg.side) * radians(Number(leg.angle_deg ?? 0))));
      });
    case 'reform':
      return members.map((member) => reformed(member, leg.files ?? member.files, leg.ranks ?? 1));
    default:
      return members;
  }
}

/**
 * The members after each of some legs, before the first one too.
 * @param {Member[]} members
 * @param {Leg[]} legs
 * @returns {Member[][]}
 */
export function stations(members, legs) {
  const all = [members];
  for (const leg of legs) all.push(afterLeg(all[all.length - 1], leg));
  return all;
}

/**
 * @param {Member} member
 * @param {Placement} placed
 * @returns {Member}
 */
const at = (member, placed) => ({ ...member, pose: stored(placed) });

/**
 * @param {Placement} placed
 * @param {Point} by
 * @returns {Placement}
 */
const shifted = (placed, by) => ({ ...placed, x: placed.x + by.x, y: placed.y + by.y });

/**
 * @param {Placement} placed
 * @param {Point} pivot
 * @param {number} rad clockwise
 * @returns {Placement}
 */
function about(placed, pivot, rad) {
  const offset = turned({ x: placed.x - pivot.x, y: placed.y - pivot.y }, rad);
  return { ...plus(pivot, offset), ahead: turned(placed.ahead, rad) };
}

/**
 * @param {Member} member
 * @param {number} rad
 * @returns {Member}
 */
const onItsSpot = (member, rad) => at(member, about(placement(member.pose), rectangle(member).centre, rad));

/**
 * @param {Member} member
 * @param {number} files
 * @param {number} ranks
 * @returns {Member}
 */
function reformed(member, files, ranks) {
  const [wide, deep] = member.baseMm;
  return { ...member, files, frontageMm: files * wide, depthMm: ranks * deep };
}
