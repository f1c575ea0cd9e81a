/** Trouble with the library file. */
export const storeFaults = {} as const;
