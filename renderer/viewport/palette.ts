/**
 * The colours of the desk: warm paper by day, a slate board with chalk by night. The ground, ink, chalk blue and rust are
 * those of theme/tokens.css, written here because a shader cannot read a style.
 */
import type { Material, Theme } from './view-types.ts';

export interface Palette {
  readonly ground: string;
  readonly dots: string;
  readonly ink: string;
  /** The ring on the floor, rules, handles. */
  readonly chalk: string;
  readonly tag: string;
  readonly tagLine: string;
  readonly accent: string;
  readonly warning: string;
  readonly tape: string;
  readonly tapeInk: string;
  /** Where a section cuts. */
  readonly cut: string;
  readonly shadow: string;
  readonly skins: Readonly<Record<Material, string>>;
}

export const PALETTES: Readonly<Record<Theme, Palette>> = {
  light: {
    ground: '#f4f0e6',
    dots: '#ddd5c4',
    ink: '#2b2a27',
    chalk: '#8c8271',
    tag: '#fdfbf5',
    tagLine: '#bdb29b',
    accent: '#2f5d8a',
    warning: '#a03d24',
    tape: '#f3e3a6',
    tapeInk: '#3a3222',
    cut: '#8a5740',
    shadow: '#6b6254',
    skins: { clay: '#c48d70', scan: '#bdb5a6', glass: '#6f9aa0', wall: '#cfb375', plain: '#b3b6b4' },
  },
  dark: {
    ground: '#20262a',
    dots: '#343c41',
    ink: '#e8e6df',
    chalk: '#a9aca4',
    tag: '#2a3136',
    tagLine: '#667075',
    accent: '#8fbbe6',
    warning: '#f0a08a',
    tape: '#e6d590',
    tapeInk: '#2c2718',
    cut: '#a9705a',
    shadow: '#0d1011',
    skins: { clay: '#c08a6e', scan: '#aaa498', glass: '#86b4ba', wall: '#c3a86c', plain: '#9fa4a4' },
  },
};
