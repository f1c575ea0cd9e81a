/**
 * Who may speak to the loopback host. The port is on 127.0.0.1, but any page in any browser on this
 * computer can try it, so each request must name our address (no DNS rebinding), come from our own page
 * (no cross-site calls) and carry the secret of this start.
 */
import { timingSafeEqual } from 'node:crypto';
import type { IncomingHttpHeaders } from 'node:http';

export const TOKEN_COOKIE = 'wearwright';

export interface Gate {
  readonly port: number;
  /** 24 random bytes as base64url, new at every start. */
  readonly token: string;
}

function sameSecret(given: string, wanted: string): boolean {
  const a = Buffer.from(given);
  const b = Buffer.from(wanted);
  return a.length === b.length && timingSafeEqual(a, b);
}

/** The value of one cookie in a Cookie header (RFC 6265 section 5.4), or ''. */
function cookieOf(header: string | undefined, name: string): string {
  for (const pair of (header ?? '').split(';')) {
    const at = pair.indexOf('=');
    if (at > 0 && pair.slice(0, at).trim() === name) return pair.slice(at + 1).trim();
  }
  return '';
}

function hostIsOurs(gate: Gate, host: string | undefined): boolean {
  return host === `127.0.0.1:${gate.port}` || host === `localhost:${gate.port}`;
}

function originIsOurs(gate: Gate, origin: string): boolean {
  return origin === `http://127.0.0.1:${gate.port}` || origin === `http://localhost:${gate.port}`;
}

/** The first page load: it brings the secret in its address and gets it back as a cookie. */
export function mayEnter(gate: Gate, headers: IncomingHttpHeaders, tokenInAddress: string | null): boolean {
  return hostIsOurs(gate, headers.host) && tokenInAddress !== null && sameSecret(tokenInAddress, gate.token);
}

/**
 * Every later request. `changes` marks the kinds that must show an Origin (socket upgrades, uploads): browsers
 * always send one there, so its absence is refused too.
 */
export function mayPass(gate: Gate, headers: IncomingHttpHeaders, changes: boolean): boolean {
  if (!hostIsOurs(gate, headers.host)) return false;
  const origin = headers.origin;
  if (origin === undefined ? changes : !originIsOurs(gate, origin)) return false;
  const site = headers['sec-fetch-site'];
  if (site !== undefined && site !== 'same-origin' && site !== 'none') return false;
  return sameSecret(cookieOf(headers.cookie, TOKEN_COOKIE), gate.token);
}
