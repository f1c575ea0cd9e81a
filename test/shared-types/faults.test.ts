import { describe, expect, it } from 'vitest';
import { fault, FAULT_CODES, faultSentence, type Fault } from '../../shared-types/faults/index.ts';

/** Stands for any fact: a number, a word or a list, whatever the sentence makes of it. */
class AnyFact extends String {
  toFixed(): string {
    return '7';
  }
  join(): string {
    return '7, 7';
  }
  override valueOf(): string {
    return '7';
  }
}

/** Nothing went wrong and there is nothing to put right. */
const NOTHING_TO_DO: ReadonlySet<string> = new Set(['store.nothing-to-undo', 'store.nothing-to-redo']);

const anyFacts = new Proxy({}, { get: () => new AnyFact('7') });

describe('fault sentences', () => {
  it('are as many as there are codes', () => {
    expect(FAULT_CODES.length).toBeGreaterThan(20);
    expect(new Set(FAULT_CODES).size).toBe(FAULT_CODES.length);
  });

  it.each(FAULT_CODES.filter((code) => code !== 'job.usage'))('%s says what is wrong and what to do', (code) => {
    const sentence = faultSentence({ code, facts: anyFacts } as Fault);
    expect(sentence).not.toMatch(/undefined|NaN|\[object|function/);
    expect(sentence).toMatch(/^["A-Z0-9]/);
    expect(sentence).toMatch(/\.$/);
    expect(sentence.split(/\s+/).length).toBeGreaterThanOrEqual(6);
    expect(sentence.length).toBeLessThan(320);
    // A remedy or a reassurance follows the trouble: a second clause or a second sentence.
    if (!NOTHING_TO_DO.has(code)) expect(sentence).toMatch(/[;,.:] \S/);
    expect(code).toMatch(/^[a-z]+\.[a-z-]+$/);
  });

  it('begin with the place, as far as it is known', () => {
    const sentence = faultSentence(fault('file.bad-number', { text: 'abc' }, { file: 'head.obj', line: 12 }));
    expect(sentence).toBe('head.obj, line 12: "abc" stands where a number belongs; export the file again.');
    expect(faultSentence(fault('job.usage', { reason: 'So.' }))).toBe('So.');
  });

  it('survive a copy between threads', () => {
    const one = fault('file.bad-index', { index: 9, count: 4 }, { byte: 100, face: 3 });
    expect(faultSentence(structuredClone(one))).toBe(faultSentence(one));
  });
});
