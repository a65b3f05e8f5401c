/**
 * What travels between the page and the server, as far as the page reads it. `server/API.md` says what each member means.
 * Lengths are millimetres of table, bearings degrees clockwise from north.
 *
 * @typedef {{number: number, hash: string}} Head
 * @typedef {{x_mm: number, y_mm: number, bearing_deg: number}} Place
 * @typedef {{x_um: number, y_um: number, bearing_udeg: number}} Pose
 * @typedef {'left' | 'right'} Hand
 *
 * @typedef {{leg: string, side?: Hand, distance_mm?: number | 'as-far-as-allowed', angle_deg?: number | 'as-far-as-allowed',
 *   up_to?: boolean, files?: number, ranks?: number}} Leg
 * @typedef {{order: string, unit?: string, units?: string[], legs?: Leg[], along_mm?: number, attackers?: string[],
 *   defenders?: string[], guns?: string[], follow_up?: string | null, target?: string, side?: Hand}} Order
 * @typedef {{game_turn: number, side: string, orders: Order[]}} Sheet
 *
 * @typedef {{leg: number, along_mm: number, x_mm: number, y_mm: number, bearing_deg: number}} PathPoint
 * @typedef {{code: string, ruling: string, text: string, at?: PathPoint, with?: string, limit_deg?: number, limit_mm?: number}} Reason
 * @typedef {{from_mm: number, to_mm: number, ground: string, rate: number, charge_mm: number}} Piece
 * @typedef {{line: string, at_mm: number, charge_mm: number, free?: string}} LineCharge
 * @typedef {{leg: string, side?: Hand, angle_deg?: number, tape_mm: number, pieces: Piece[], lines: LineCharge[], fixed_mm: number,
 *   charge_mm: number, stopped_by?: string, end: Place}} LegLedger
 * @typedef {{legs: Leg[], words: string, end: Place}} Remedy
 * @typedef {{unit: string, order: number, verdict: string, legs: LegLedger[], charge_mm: number, allowance_mm: number,
 *   in_command: boolean, start: Place | null, end: Place | null, end_pose: Pose | null, files: number, reasons: Reason[],
 *   furthest: Place | null, remedies?: Remedy[]}} MoveVerdict
 * @typedef {{from: string, to: string, distance_mm: number, limit_mm: number, through?: string}} Measured
 * @typedef {{attack: number, defence: number, column_before_shifts: string, shifts: string[], column: string}} Odds
 * @typedef {{order: number, verdict: string, attackers: string[], defenders: string[], guns: string[], measured: Measured[],
 *   odds: Odds | null, reasons: Reason[], chances?: Chance[]}} BattleVerdict
 * @typedef {{outcome: string, words?: string, ways: number, of: number}} Chance
 * @typedef {{verdict: string, moves: MoveVerdict[], battles: BattleVerdict[], reasons: Reason[], completion?: Order[]}} SheetVerdict
 * @typedef {{head: Head, sheet: Sheet, typed: string, verdict: SheetVerdict, words: string}} Checked
 * @typedef {{head: Head, verdict: string, moves: MoveVerdict[], left_mm: number | null, first: Reason | null, halted_by: string[],
 *   strikes: string[], reasons: Reason[]}} OrderVerdict
 *
 * @typedef {{side: string, name: string, player: string | null, players: string[]}} Side
 * @typedef {{winner: string | null, why: string, scores: unknown}} Ending
 * @typedef {{id: string, name: string, opened_at: string, open_to_all: boolean, spectator_delay_minutes: number, head: Head,
 *   sides: Side[], game_turn: number, game_turns: number, player_turn: number, to_move: string | null, ended: Ending | null}} GameCard
 * @typedef {{game_turn: number, edge: string, from_mm: number, to_mm: number}} Arrival
 * @typedef {{id: string, name: string, side: string, troops: string, arm: string, files: number, ranks: number, bases: number,
 *   bases_at_start: number, strength: number, disorder: number, state: 'waiting' | 'standing' | 'gone', place?: Place, pose?: Pose,
 *   arrives?: Arrival, cause?: string}} Unit
 * @typedef {GameCard & {units: Unit[], own?: {side: string, your_turn: boolean}, holders: (string | null)[]}} Table
 * @typedef {{number: number, at: string, event: string, words: string}} News
 * @typedef {{rules: Record<string, unknown> | null, to_move: string | null, due: string | null, days_left: number | null,
 *   is_out: boolean, is_paused: boolean, sides: {side: string, zone: string, saved: number, leave_left: number,
 *   asks_pause: boolean, leave: {from: string, days: number}[]}[]}} Clock
 *
 * @typedef {{id: string, role: string, game?: string, seat?: string, side?: string, player?: string, member?: string}} HeldKey
 * @typedef {{session: string, device?: string, started_at: string, used_at: string, own: boolean, entered?: string,
 *   keys: HeldKey[]}} Session
 * @typedef {{key: string, seat: string, role: string, side?: string, player: string, game: GameCard, clock: Clock | null, scores?: Score[]}} OwnGame
 * @typedef {{side: string, losses: number, exits: number, ground: number, total: number}} Score
 * @typedef {{line: number, column: number, problem: string, remedy?: string, file?: string, path?: string,
 *   readings?: string[]}} Fault
 */
export {};
