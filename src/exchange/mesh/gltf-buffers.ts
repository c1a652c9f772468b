/** Ranges of bytes that a glTF file's accessors name, checked before anything is read of them. */
import { MOST_TRIANGLES } from "./mesh-file.ts";
import { broken, countAt, entryAt, listAt, objectAt, WrongGltf } from "./wrong-gltf.ts";

type Json = { readonly [key: string]: unknown };

/** Bytes of a component by its number (glTF 2.0, accessor.componentType). */
const COMPONENT: Readonly<Record<number, number>> = { 5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4 };

/** What has been checked so far, by number. */
export interface Checked {
  readonly accessors: Map<number, number>;
  readonly views: Set<number>;
  /** Elements of all accessors. */
  elements: number;
}

/**
 * Checks an accessor of positions or of corner numbers.
 * @param sizes of the buffers, bytes, as the file has them
 * @returns its number of elements @throws WrongGltf when it reaches beyond its bytes or is of another kind
 */
export function checkAccessor(
  json: Json,
  index: unknown,
  at: string,
  kind: "VEC3" | "SCALAR",
  sizes: readonly number[],
  checked: Checked,
): number {
  const accessor = entryAt(listAt(json["accessors"], "accessors"), index, at, "accessors");
  const where = `accessors[${index}]`;
  const known = checked.accessors.get(index as number);
  if (known !== undefined) return known;
  if (accessor["type"] !== kind) throw broken(`${where}.type`, JSON.stringify(accessor["type"]) ?? "nothing", kind);
  const component = accessor["componentType"];
  const whole = kind === "SCALAR";
  const bytes = COMPONENT[component as number];
  if (bytes === undefined || (whole && ![5121, 5123, 5125].includes(component as number)))
    throw broken(
      `${where}.componentType`,
      JSON.stringify(component) ?? "nothing",
      whole ? "5121, 5123 or 5125" : "5120 to 5126 of the specification",
    );
  const count = countAt(accessor["count"], `${where}.count`);
  checked.accessors.set(index as number, count);
  checked.elements += count;
  if (checked.elements > 6 * MOST_TRIANGLES)
    throw new WrongGltf(
      "mesh-too-large",
      `${where}.count: ${count}, ${checked.elements} with those before`,
      `at most ${6 * MOST_TRIANGLES} elements`,
      "Export it with a coarser tolerance, or simplify it.",
    );
  const element = bytes * (whole ? 1 : 3);
  if (accessor["bufferView"] !== undefined) checkRange(json, accessor, where, count, element, sizes, checked.views);
  if (accessor["sparse"] !== undefined) {
    const sparse = objectAt(accessor["sparse"], `${where}.sparse`);
    const changed = countAt(sparse["count"], `${where}.sparse.count`);
    const indices = objectAt(sparse["indices"], `${where}.sparse.indices`);
    const size = COMPONENT[indices["componentType"] as number];
    if (size === undefined)
      throw broken(`${where}.sparse.indices.componentType`, "an unknown one", "5121, 5123 or 5125");
    checkRange(json, indices, `${where}.sparse.indices`, changed, size, sizes, checked.views);
    const values = objectAt(sparse["values"], `${where}.sparse.values`);
    checkRange(json, values, `${where}.sparse.values`, changed, element, sizes, checked.views);
  }
  return count;
}

function checkRange(
  json: Json,
  from: Json,
  where: string,
  count: number,
  element: number,
  sizes: readonly number[],
  views: Set<number>,
): void {
  const at = `${where}.bufferView`;
  const view = entryAt(listAt(json["bufferViews"], "bufferViews"), from["bufferView"], at, "bufferViews");
  const name = `bufferViews[${from["bufferView"]}]`;
  views.add(from["bufferView"] as number);
  const buffer = countAt(view["buffer"], `${name}.buffer`);
  const size = sizes[buffer];
  if (size === undefined) throw broken(`${name}.buffer`, `${buffer}`, `one of the ${sizes.length} buffers`);
  const offset = countAt(view["byteOffset"], `${name}.byteOffset`, 0, 0);
  const length = countAt(view["byteLength"], `${name}.byteLength`, 1);
  const stride = countAt(view["byteStride"], `${name}.byteStride`, 1, element);
  if (stride < element) throw broken(`${name}.byteStride`, `${stride}`, `at least ${element}, one element`);
  if (offset + length > size)
    throw broken(name, `bytes ${offset} to ${offset + length}`, `bytes of the buffer's ${size}`);
  const start = countAt(from["byteOffset"], `${where}.byteOffset`, 0, 0);
  const needed = count === 0 ? 0 : start + (count - 1) * stride + element;
  if (needed > length) throw broken(where, `${count} elements up to byte ${needed}`, `${length} bytes in ${name}`);
}
