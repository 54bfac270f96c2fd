// Signing: digests and signatures as the browser works them out. It does so on a secure address only.

/** hexOf writes bytes as lower-case hexadecimal, so that digests can be compared and kept as text. */
export const hexOf = (bytes: Uint8Array): string =>
  [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/** own is a copy with a buffer of its own, as WebCrypto's types ask for. */
const own = (bytes: Uint8Array): Uint8Array<ArrayBuffer> => new Uint8Array(bytes);

/** digestOf gives the SHA-256 of bytes. */
export async function digestOf(bytes: Uint8Array): Promise<Uint8Array> {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", own(bytes)));
}

/** signedBy tells whether a key signed the text (Ed25519, RFC 8032). A key or signature of a wrong length did not. */
export async function signedBy(key: Uint8Array, text: Uint8Array, signature: Uint8Array): Promise<boolean> {
  if (key.length !== 32 || signature.length !== 64) return false;
  try {
    const imported = await crypto.subtle.importKey("raw", own(key), "Ed25519", false, ["verify"]);
    return await crypto.subtle.verify("Ed25519", imported, own(signature), own(text));
  } catch {
    return false; // no point of the curve
  }
}

/** canCheck tells whether this browser checks signatures here. */
export async function canCheck(): Promise<boolean> {
  try {
    await crypto.subtle.generateKey("Ed25519", false, ["sign", "verify"]);
    return true;
  } catch {
    return false;
  }
}

/** keyWords writes the beginning of a key, to be compared on the telephone. */
export const keyWords = (key: Uint8Array): string => hexOf(key.slice(0, 6)).replace(/(.{4})(?=.)/g, "$1 ");
