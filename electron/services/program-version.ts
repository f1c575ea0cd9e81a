/** The version kept beside each result, so that it is known what made it. Raised with package.json's. */
export const PROGRAM_VERSION = '0.1.0';
