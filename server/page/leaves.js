/** The leaves beside the table: one is open at a time; on a phone it lies over the lower part of the table and can be put away. */

import { el } from './dom.js';

/** @typedef {{leaf: HTMLElement, show: () => void}} Leaf */

export class Leaves {
  /** @param {[string, Leaf][]} leaves */
  constructor(leaves) {
    this.leaves = leaves;
    this.tabs = leaves.map(([name], at) => this.tab(name, at));
    this.panels = leaves.map(([name, leaf], at) => el('div', { role: 'tabpanel', id: `leaf-${at}`, 'aria-label': name, tabindex: -1, class: 'panel' }, leaf.leaf));
    this.element = el('aside', { class: 'leaves', 'aria-label': 'Beside the table' }, el('div', { role: 'tablist', class: 'tabs' }, this.tabs), this.panels);
    this.isOpen = true;
    this.open(0);
    if (matchMedia('(max-width: 899px)').matches) this.close();
  }

  /**
   * @param {string} name
   * @param {number} at
   */
  tab(name, at) {
    const tab = el('button', { type: 'button', role: 'tab', 'aria-controls': `leaf-${at}`, id: `tab-${at}`, onclick: () => (this.isOpen && this.now === at ? this.close() : this.open(at)) }, name);
    tab.addEventListener('keydown', (event) => {
      const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!way) return;
      event.preventDefault();
      const next = (at + way + this.leaves.length) % this.leaves.length;
      this.open(next);
      this.tabs[next].focus();
    });
    return tab;
  }

  /** @param {number} at */
  open(at) {
    this.now = at;
    this.isOpen = true;
    this.element.classList.remove('put-away');
    for (const [place, tab] of this.tabs.entries()) {
      const on = place === at;
      tab.setAttribute('aria-selected', String(on));
      tab.tabIndex = on ? 0 : -1;
      this.panels[place].hidden = !on;
    }
  }

  /** Puts the leaf away where it lies over the table. */
  close() {
    if (!matchMedia('(max-width: 899px)').matches) return;
    this.isOpen = false;
    this.element.classList.add('put-away');
  }

  showAll() {
    for (const [, leaf] of this.leaves) leaf.show();
  }
}
