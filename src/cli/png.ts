/**
 * Pictures as PNG. Drawn by a WebAssembly renderer from the SVG text with faces that come with the program, so that the same
 * picture is the same file on every machine.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { initWasm, Resvg } from "@resvg/resvg-wasm";

const require = createRequire(import.meta.url);
const FACE = "DejaVu Sans";
const FILES = ["dejavu-fonts-ttf/ttf/DejaVuSans.ttf", "dejavu-fonts-ttf/ttf/DejaVuSans-Bold.ttf"];

let ready: Promise<readonly Uint8Array[]> | undefined;

/** Starts the renderer and reads the faces, once. */
async function start(): Promise<readonly Uint8Array[]> {
  await initWasm(readFileSync(require.resolve("@resvg/resvg-wasm/index_bg.wasm")));
  return FILES.map((file) => readFileSync(require.resolve(file)));
}

/**
 * An SVG document as PNG. Style rules for dark screens must not be in it: the renderer knows no media.
 * @param zoom pixels per px of the document, > 0
 */
export async function pngOf(svg: string, zoom = 2): Promise<Uint8Array> {
  ready ??= start();
  const fontBuffers = [...(await ready)];
  const picture = new Resvg(svg, {
    fitTo: { mode: "zoom", value: zoom },
    font: { fontBuffers, loadSystemFonts: false, defaultFontFamily: FACE, sansSerifFamily: FACE },
  });
  const image = picture.render();
  const png = image.asPng();
  image.free();
  picture.free();
  return png;
}
