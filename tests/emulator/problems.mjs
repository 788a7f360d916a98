/* What the models have to object to: each kind of problem in words, and how often it was met. */
const MOST_KINDS = 100;

export class Problems {
  constructor() {
    this.counts = new Map();
    this.report = (words) => {
      if (this.counts.size < MOST_KINDS || this.counts.has(words)) {
        this.counts.set(words, (this.counts.get(words) ?? 0) + 1);
      }
    };
  }

  get result() {
    return Object.fromEntries(this.counts);
  }
}
