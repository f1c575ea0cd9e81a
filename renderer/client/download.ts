/** Hands bytes to the browser (or the desktop shell) as a file to be saved. */
export function saveBytes(fileName: string, bytes: Uint8Array<ArrayBuffer> | string, type: string): void {
  const address = URL.createObjectURL(new Blob([bytes], { type }));
  const link = document.createElement('a');
  link.href = address;
  link.download = fileName;
  document.body.append(link);
  link.click();
  link.remove();
  // The download reads the address after the click; it may go once that has begun.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
