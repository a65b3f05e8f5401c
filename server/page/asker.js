/** One question in flight, the newest next, old answers dropped: how the referee is asked while a base is dragged. */

/**
 * @template Q
 * @template A
 */
export class Asker {
  /**
   * @param {(question: Q) => Promise<A>} send
   * @param {(question: Q, answer: A) => void} onAnswer
   * @param {(question: Q, error: unknown) => void} [onError]
   */
  constructor(send, onAnswer, onError = () => {}) {
    this.send = send;
    this.onAnswer = onAnswer;
    this.onError = onError;
    /** @type {Q | null} */
    this.next = null;
    this.isAsking = false;
    this.era = 0;
  }

  /**
   * Asks, or puts the question in the place of the one that waits.
   * @param {Q} question
   */
  ask(question) {
    this.next = question;
    if (!this.isAsking) void this.work();
  }

  /** Nothing asked so far needs an answer any more. */
  forget() {
    this.next = null;
    this.era += 1;
  }

  async work() {
    this.isAsking = true;
    while (this.next !== null) {
      const question = this.next;
      const era = this.era;
      this.next = null;
      try {
        const answer = await this.send(question);
        if (era === this.era) this.onAnswer(question, answer);
      } catch (error) {
        if (era === this.era) this.onError(question, error);
      }
    }
    this.isAsking = false;
  }
}
