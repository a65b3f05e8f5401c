/** The table under the hand: the core's drawing, moved and enlarged by drag, pinch, wheel and keys, with a layer over it. */

import { drawn, el } from './dom.js';

/** @typedef {{x: number, y: number}} Point */

/** How far in and out it goes: millimetres of table across the view. */
const LEAST_MM = 60;
/** Pixels that a thumb is wide. */
const THUMB_PX = 42;
/** A finger that moves less than this, in pixels, has tapped. */
const TAP_PX = 7;

export class TableView extends HTMLElement {
  constructor() {
    super();
    this.west = 0;
    this.north = 0;
    this.widthMm = 1;
    this.depthMm = 1;
    /** Pixels of the drawing that a millimetre takes. */
    this.scale = 1;
    this.size = { x: 1, y: 1 };
    /** What is in view, in pixels of the drawing. */
    this.view = { x: 0, y: 0, width: 1, height: 1 };
    /** @type {Map<number, Point>} fingers on the table */
    this.fingers = new Map();
    /** @type {SVGElement} */
    this.layer = drawn('svg', { class: 'layer' });
    this.holder = el('div', { class: 'drawing', 'aria-hidden': 'true' });
    /** @type {{pointer: number, handle: string} | null} */
    this.hold = null;
    this.moved = 0;
    this.isShown = false;
    /** @type {(point: Point) => boolean} asked before a drag moves the table: whether somebody else takes it */
    this.takes = () => false;
    /** @type {number | null} */
    this.taken = null;
  }

  connectedCallback() {
    this.tabIndex = 0;
    this.setAttribute('role', 'group');
    this.setAttribute('aria-label', 'The table. Arrow keys move it, plus and minus enlarge it, 0 shows all. Tab goes from unit to unit.');
    this.replaceChildren(this.holder, this.layer);
    this.addEventListener('pointerdown', (event) => this.down(event));
    this.addEventListener('pointermove', (event) => this.move(event));
    this.addEventListener('pointerup', (event) => this.up(event));
    this.addEventListener('pointercancel', (event) => this.cancel(event));
    this.addEventListener('wheel', (event) => this.wheel(event), { passive: false });
    this.addEventListener('keydown', (event) => this.press(event));
    new ResizeObserver(() => this.resized()).observe(this);
  }

  /**
   * Puts a drawing under the layer; what is in view stays.
   * @param {SVGSVGElement} drawing as `table.svg?map=true` gives it
   */
  show(drawing) {
    const shown = drawing.querySelector('#table-shown');
    const told = (/** @type {string} */ name) => Number(shown?.getAttribute(name) ?? 0);
    const box = drawing.viewBox.baseVal;
    this.west = told('data-west-mm');
    this.north = told('data-north-mm');
    this.widthMm = told('data-width-mm') || 1;
    this.depthMm = told('data-depth-mm') || 1;
    this.size = { x: box.width, y: box.height };
    this.scale = box.width / this.widthMm;
    drawing.removeAttribute('width');
    drawing.removeAttribute('height');
    drawing.setAttribute('preserveAspectRatio', 'none');
    this.holder.replaceChildren(drawing);
    if (!this.isShown) this.fit();
    else this.look(this.view);
  }

  /** Pixels of the drawing that a pixel of the screen takes. */
  get grain() {
    return this.view.width / Math.max(1, this.clientWidth);
  }

  get mmOfPixel() {
    return this.grain / this.scale;
  }

  /**
   * A place on the table in pixels of the drawing.
   * @param {Point} mm
   * @returns {Point}
   */
  toDrawing(mm) {
    return { x: (mm.x - this.west) * this.scale, y: (this.north - mm.y) * this.scale };
  }

  /**
   * The place on the table under a pixel of the screen.
   * @param {{clientX: number, clientY: number}} at
   * @returns {Point}
   */
  toTable(at) {
    const place = this.onDrawing(at);
    return { x: place.x / this.scale + this.west, y: this.north - place.y / this.scale };
  }

  /**
   * @param {{clientX: number, clientY: number}} at
   * @returns {Point}
   */
  onDrawing(at) {
    const box = this.getBoundingClientRect();
    return { x: this.view.x + (at.clientX - box.left) * this.grain, y: this.view.y + (at.clientY - box.top) * this.grain };
  }

  /** Shows the whole table. */
  fit() {
    const [wide, high] = [this.clientWidth, this.clientHeight];
    if (wide === 0 || high === 0) return;
    this.isShown = true;
    const width = Math.max(this.size.x, (this.size.y * wide) / high) * 1.03;
    const height = (width * high) / wide;
    this.look({ x: (this.size.x - width) / 2, y: (this.size.y - height) / 2, width, height });
  }

  /**
   * Brings a place into the middle, if it is not well in view.
   * @param {Point} mm
   */
  bring(mm) {
    const at = this.toDrawing(mm);
    const { x, y, width, height } = this.view;
    const [across, down] = [(at.x - x) / width, (at.y - y) / height];
    if (across > 0.12 && across < 0.88 && down > 0.12 && down < 0.88) return;
    this.look({ ...this.view, x: at.x - width / 2, y: at.y - height / 2 });
  }

  /**
   * Comes nearer to a place until something of a size there is as wide as a thumb; from near it stays as it is.
   * @param {Point} mm
   * @param {number} wideMm
   */
  comeNear(mm, wideMm) {
    const wide = wideMm / this.mmOfPixel;
    if (wide < THUMB_PX) this.zoom((THUMB_PX * 1.6) / wide, this.toDrawing(mm));
    this.bring(mm);
  }

  /**
   * Enlarges about a point of the drawing.
   * @param {number} times
   * @param {Point} about
   */
  zoom(times, about) {
    const most = Math.max(this.size.x, (this.size.y * this.clientWidth) / Math.max(1, this.clientHeight)) * 1.6;
    const width = Math.min(most, Math.max(LEAST_MM * this.scale, this.view.width / times));
    const share = width / this.view.width;
    this.look({
      x: about.x - (about.x - this.view.x) * share,
      y: about.y - (about.y - this.view.y) * share,
      width,
      height: this.view.height * share,
    });
  }

  /** @param {number} times */
  zoomMiddle(times) {
    this.zoom(times, { x: this.view.x + this.view.width / 2, y: this.view.y + this.view.height / 2 });
  }

  /** @param {{x: number, y: number, width: number, height: number}} view */
  look(view) {
    const keep = (/** @type {number} */ at, /** @type {number} */ span, /** @type {number} */ all) =>
      Math.min(Math.max(at, Math.min(-span * 0.4, all - span * 0.6)), Math.max(all - span * 0.6, -span * 0.4));
    this.view = { ...view, x: keep(view.x, view.width, this.size.x), y: keep(view.y, view.height, this.size.y) };
    const text = `${this.view.x} ${this.view.y} ${this.view.width} ${this.view.height}`;
    this.holder.firstElementChild?.setAttribute('viewBox', text);
    this.layer.setAttribute('viewBox', text);
    this.dispatchEvent(new CustomEvent('looked'));
  }

  resized() {
    if (!this.isShown) return this.fit();
    const { view } = this;
    const height = (view.width * this.clientHeight) / Math.max(1, this.clientWidth);
    this.look({ ...view, y: view.y + (view.height - height) / 2, height });
  }

  /** @param {PointerEvent} event */
  down(event) {
    if (event.button > 0) return;
    const handle = /** @type {Element} */ (event.target).closest?.('[data-handle]')?.getAttribute('data-handle');
    this.setPointerCapture(event.pointerId);
    if (handle && !this.hold && this.fingers.size === 0) {
      this.hold = { pointer: event.pointerId, handle };
      this.tellHold('hold', event);
      return;
    }
    if (this.fingers.size === 0 && !this.hold && this.takes(this.toTable(event))) {
      this.taken = event.pointerId;
      return this.tellHold('taken', event);
    }
    this.fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (this.fingers.size === 1) this.moved = 0;
  }

  /** @param {PointerEvent} event */
  move(event) {
    if (this.hold?.pointer === event.pointerId) return this.tellHold('drag', event);
    if (this.taken === event.pointerId) return this.tellHold('taken', event);
    const was = this.fingers.get(event.pointerId);
    if (!was) return;
    const is = { x: event.clientX, y: event.clientY };
    this.moved += Math.hypot(is.x - was.x, is.y - was.y);
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1];
    this.fingers.set(event.pointerId, is);
    if (this.moved < TAP_PX) return;
    if (other) {
      const spread = Math.hypot(is.x - other.x, is.y - other.y) / Math.max(1, Math.hypot(was.x - other.x, was.y - other.y));
      this.zoom(spread, this.onDrawing({ clientX: (is.x + other.x) / 2, clientY: (is.y + other.y) / 2 }));
    }
    const share = other ? 0.5 : 1;
    this.look({ ...this.view, x: this.view.x - (is.x - was.x) * this.grain * share, y: this.view.y - (is.y - was.y) * this.grain * share });
  }

  /** @param {PointerEvent} event */
  up(event) {
    if (this.hold?.pointer === event.pointerId) {
      this.hold = null;
      return this.tellHold('release', event);
    }
    if (this.taken === event.pointerId) {
      this.taken = null;
      return;
    }
    const was = this.fingers.delete(event.pointerId);
    if (was && this.fingers.size === 0 && this.moved < TAP_PX) {
      this.dispatchEvent(new CustomEvent('tap', { detail: { at: this.toTable(event), more: event.shiftKey || event.ctrlKey || event.metaKey } }));
    }
  }

  /** @param {PointerEvent} event */
  cancel(event) {
    if (this.hold?.pointer === event.pointerId) {
      this.hold = null;
      this.dispatchEvent(new CustomEvent('drop'));
    }
    if (this.taken === event.pointerId) this.taken = null;
    this.fingers.delete(event.pointerId);
  }

  /**
   * @param {string} name
   * @param {PointerEvent} event
   */
  tellHold(name, event) {
    this.dispatchEvent(new CustomEvent(name, { detail: { handle: this.hold?.handle, at: this.toTable(event) } }));
  }

  /** @param {WheelEvent} event */
  wheel(event) {
    event.preventDefault();
    const step = event.deltaMode === 0 ? event.deltaY / 400 : event.deltaY / 12;
    this.zoom(Math.exp(-Math.max(-1, Math.min(1, step))), this.onDrawing(event));
  }

  /** @param {KeyboardEvent} event */
  press(event) {
    if (event.target !== this || event.altKey || event.ctrlKey || event.metaKey) return;
    const { view } = this;
    const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[/** @type {keyof typeof ways} */ (event.key)];
    if (way) this.look({ ...view, x: view.x + way[0] * view.width * 0.1, y: view.y + way[1] * view.height * 0.1 });
    else if (event.key === '+' || event.key === '=') this.zoomMiddle(1.25);
    else if (event.key === '-') this.zoomMiddle(0.8);
    else if (event.key === '0') this.fit();
    else return;
    event.preventDefault();
  }
}

customElements.define('table-view', TableView);
