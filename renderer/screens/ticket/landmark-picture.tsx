/** Where a landmark lies, drawn in chalk on a head seen from the side or the front. The drawing is our own. */

/** From the wearer's left side, face to the left; or from the front. 100 by 120. */
const PLACES: Readonly<Record<string, readonly ['side' | 'front', number, number]>> = {
  'tragion-left': ['side', 50, 62],
  'tragion-right': ['front', 17, 62],
  'orbitale-left': ['front', 64, 60],
  'orbitale-right': ['front', 36, 60],
  glabella: ['side', 19, 46],
  brow: ['side', 20, 39],
  opisthocranion: ['side', 92, 46],
  vertex: ['side', 54, 8],
  'euryon-left': ['front', 84, 38],
  'euryon-right': ['front', 16, 38],
  'zygion-left': ['front', 80, 66],
  'zygion-right': ['front', 20, 66],
  sellion: ['side', 20, 54],
  pronasale: ['side', 9, 68],
  menton: ['side', 27, 98],
};

const SIDE =
  'M 62 118 C 62 104 66 98 76 90 C 90 78 95 60 91 42 C 86 18 70 8 54 8 C 36 8 22 20 20 40 C 19 44 18 46 19 48 ' +
  'C 20 51 21 53 20 55 L 9 68 C 8 70 11 72 15 72 L 15 77 L 13 80 L 15 83 L 14 88 C 14 95 20 99 28 98 L 40 96 C 44 104 42 110 40 118';
const FRONT =
  'M 36 118 L 36 104 C 26 98 20 86 19 72 L 16 70 C 12 62 13 54 17 54 C 14 24 28 8 50 8 C 72 8 86 24 83 54 ' +
  'C 87 54 88 62 84 70 L 81 72 C 80 86 74 98 64 104 L 64 118';

export function LandmarkPicture({ name }: { readonly name: string }) {
  const place = PLACES[name];
  if (place === undefined) return null;
  const [from, x, y] = place;
  return (
    <svg className="landmark-picture" viewBox="0 0 100 120" aria-hidden="true">
      <path d={from === 'side' ? SIDE : FRONT} />
      {from === 'side' ? (
        <path d="M 52 56 C 60 54 62 62 58 68 C 55 73 51 72 51 66" />
      ) : (
        <path d="M 30 54 q 7 -5 13 0 q -6 5 -13 0 M 57 54 q 7 -5 13 0 q -6 5 -13 0 M 50 56 L 46 74 L 53 75 M 41 87 q 9 4 18 0" />
      )}
      <circle cx={x} cy={y} r="4" className="landmark-dot" />
      <path className="landmark-cross" d={`M ${x - 9} ${y} h 18 M ${x} ${y - 9} v 18`} />
    </svg>
  );
}
