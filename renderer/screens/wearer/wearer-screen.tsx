export function WearerScreen({ id }: { readonly id: string }) {
  return <p>{id}</p>;
}
