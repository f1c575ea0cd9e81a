/** Where one is: kept in the address after the hash, so that back, forward and a reload lead to the same place. */
import { createStore, type Store } from './store.ts';

export type Place = { readonly at: 'shelf' } | { readonly at: (typeof PLACES)[number]; readonly id: string };

const PLACES = ['wearer', 'ticket', 'project', 'form', 'liner', 'making', 'part', 'fitting', 'company'] as const;

/** The place an address hash names; the shelf when it names none. */
export function placeOf(hash: string): Place {
  const [, at, id, ...rest] = hash.replace(/^#/, '').split('/');
  const known = PLACES.find((place) => place === at);
  if (known === undefined || id === undefined || rest.length > 0 || !/^[0-9a-f-]{1,64}$/i.test(id)) {
    return { at: 'shelf' };
  }
  return { at: known, id };
}

export function hashOf(place: Place): string {
  return place.at === 'shelf' ? '#/' : `#/${place.at}/${place.id}`;
}

/** As much of a browser's window as this needs. */
export interface AddressedPage {
  readonly location: { hash: string };
  addEventListener(name: 'hashchange', listener: () => void): void;
}

/** Follows the page's address; `set` on the store is not for screens, use `go`. */
export function createPlaceStore(page: AddressedPage): Store<Place> {
  const store = createStore(placeOf(page.location.hash));
  page.addEventListener('hashchange', () => store.set(placeOf(page.location.hash)));
  return store;
}

export function go(place: Place): void {
  (globalThis as unknown as AddressedPage).location.hash = hashOf(place);
}
