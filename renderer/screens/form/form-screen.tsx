export function FormScreen({ revisionId }: { readonly revisionId: string }) {
  return <p>{revisionId}</p>;
}
