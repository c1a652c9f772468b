/**
 * A colour scale of even steps to the eye, from dark blue to yellow, also for colour-blind readers and in grey: viridis (Smith
 * and van der Walt, 2015, public domain), ten colours of it, recalled, with steps between them in OKLab (Ottosson, 2020).
 */
const ANCHORS = [
  "#440154",
  "#482878",
  "#3e4a89",
  "#31688e",
  "#26828e",
  "#1f9e89",
  "#35b779",
  "#6dcd59",
  "#b4de2c",
  "#fde725",
].map(labOf);

type Lab = readonly [l: number, a: number, b: number];

/** Colour of a share from 0 to 1, "#rrggbb"; shares outside are taken to the nearer end. */
export function scaleColor(share: number): string {
  const at = Math.min(1, Math.max(0, share)) * (ANCHORS.length - 1);
  const k = Math.min(ANCHORS.length - 2, Math.floor(at));
  const from = ANCHORS[k]!,
    to = ANCHORS[k + 1]!;
  return colorOf([0, 1, 2].map((i) => from[i]! + (at - k) * (to[i]! - from[i]!)) as unknown as Lab);
}

/** OKLab of an sRGB colour. */
export function labOf(color: string): Lab {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const c = Number.parseInt(color.slice(i, i + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b),
    m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b),
    s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ];
}

function colorOf([l, a, b]: Lab): string {
  const p = (l + 0.3963377774 * a + 0.2158037573 * b) ** 3,
    q = (l - 0.1055613458 * a - 0.0638541728 * b) ** 3,
    r = (l - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const linear = [
    4.0767416621 * p - 3.3077115913 * q + 0.2309699292 * r,
    -1.2684380046 * p + 2.6097574011 * q - 0.3413193965 * r,
    -0.0041960863 * p - 0.7034186147 * q + 1.707614701 * r,
  ];
  return `#${linear
    .map((c) => (c <= 0.0031308 ? 12.92 * c : 1.055 * Math.max(c, 0) ** (1 / 2.4) - 0.055))
    .map((c) => Math.round(255 * Math.min(1, Math.max(0, c))))
    .map((c) => c.toString(16).padStart(2, "0"))
    .join("")}`;
}
