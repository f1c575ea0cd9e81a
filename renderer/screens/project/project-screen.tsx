export function ProjectScreen({ id }: { readonly id: string }) {
  return <p>{id}</p>;
}
