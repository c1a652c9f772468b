/** Numbers as compact text: 32-bit floats, little-endian, base64 (RFC 4648, clause 4). */
const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/** The values rounded to 32-bit floats, as base64 text. */
export function floatsToBase64(values: Float64Array): string {
  const bytes = new Uint8Array(4 * values.length);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < values.length; i++) view.setFloat32(4 * i, values[i]!, true);
  return bytesToBase64(bytes);
}

/** Bytes as base64 text with padding. */
export function bytesToBase64(bytes: Uint8Array): string {
  const parts: string[] = [];
  for (let i = 0; i < bytes.length; i += 3) {
    const left = bytes.length - i;
    const group = (bytes[i]! << 16) | ((bytes[i + 1] ?? 0) << 8) | (bytes[i + 2] ?? 0);
    parts.push(
      ALPHABET[group >> 18]! +
        ALPHABET[(group >> 12) & 63]! +
        (left > 1 ? ALPHABET[(group >> 6) & 63]! : "=") +
        (left > 2 ? ALPHABET[group & 63]! : "="),
    );
  }
  return parts.join("");
}
