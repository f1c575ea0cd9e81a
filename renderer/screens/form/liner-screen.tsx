export function LinerScreen({ id }: { readonly id: string }) {
  return <p>{id}</p>;
}
