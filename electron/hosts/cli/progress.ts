/** Progress on standard error: one line that is rewritten on a terminal, a line every tenth otherwise. */
export interface ProgressShow {
  readonly show: (fraction: number, phase: string) => void;
  readonly clear: () => void;
}

export function showProgress(verb: string, asked: boolean, stream: NodeJS.WriteStream = process.stderr): ProgressShow {
  const terminal = stream.isTTY;
  let lastTenth = -1;
  let written = false;
  return {
    show: (fraction, phase) => {
      const percent = Math.floor(fraction * 100);
      if (terminal) {
        written = true;
        stream.write(`\r\x1b[K${verb}: ${phase} ${percent} %`);
      } else if (asked && Math.floor(percent / 10) > lastTenth) {
        lastTenth = Math.floor(percent / 10);
        stream.write(`${verb}: ${phase} ${percent} %\n`);
      }
    },
    clear: () => {
      if (written) stream.write('\r\x1b[K');
    },
  };
}
