/** The container of a .glb file: header, a chunk of JSON, a chunk of bytes (glTF 2.0 specification, section 4). */
import { EXPORT_AGAIN, WrongGltf } from "./wrong-gltf.ts";

const MAGIC = 0x46546c67;
const JSON_CHUNK = 0x4e4f534a;
const BYTES_CHUNK = 0x004e4942;

export const isGlb = (bytes: Uint8Array): boolean =>
  bytes.length >= 4 && bytes[0] === 0x67 && bytes[1] === 0x6c && bytes[2] === 0x54 && bytes[3] === 0x46;

/** Text of the JSON and the bytes behind it. @throws WrongGltf */
export function openGlb(bytes: Uint8Array): { readonly json: Uint8Array; readonly rest: Uint8Array | undefined } {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  if (bytes.length < 20 || view.getUint32(0, true) !== MAGIC)
    throw new WrongGltf("mesh-truncated", `${bytes.length} bytes`, "a GLB file of at least 20 bytes", EXPORT_AGAIN);
  const version = view.getUint32(4, true),
    length = view.getUint32(8, true);
  if (version !== 2)
    throw new WrongGltf("mesh-unsupported", `GLB version ${version}`, "version 2", "Export it as glTF 2.0.");
  if (length > bytes.length)
    throw new WrongGltf(
      "mesh-truncated",
      `${bytes.length} bytes`,
      `${length} bytes, as the header says`,
      "The file was cut off: copy or export it again.",
    );
  let json: Uint8Array | undefined, rest: Uint8Array | undefined;
  for (let at = 12; at + 8 <= length; ) {
    const size = view.getUint32(at, true),
      type = view.getUint32(at + 4, true);
    if (at + 8 + size > length)
      throw new WrongGltf(
        "mesh-truncated",
        `a chunk of ${size} bytes at byte ${at}`,
        `at most ${length - at - 8} bytes`,
        EXPORT_AGAIN,
      );
    const chunk = bytes.subarray(at + 8, at + 8 + size);
    if (type === JSON_CHUNK) json ??= chunk;
    else if (type === BYTES_CHUNK) rest ??= chunk;
    at += 8 + size;
  }
  if (json === undefined)
    throw new WrongGltf("mesh-syntax", "no chunk of JSON", "a chunk of JSON behind the header", EXPORT_AGAIN);
  return { json, rest };
}
