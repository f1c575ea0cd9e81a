/** What the host calls. */
export { prepare, nearest } from './nearest';
