/** STL files written here are read back; broken ones are refused with the reason and never crash. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { inspectMesh, type MeshData } from "../../src/clearance/index.ts";
import { readStl } from "../../src/exchange/index.ts";
import { boxMesh, sphereMesh, torusMesh, volumeOf } from "./shapes.ts";
import { asciiStl, binaryStl } from "./write-stl.ts";

function read(bytes: Uint8Array): MeshData {
  const got = readStl(bytes, "a.stl");
  if (!got.ok) throw new Error(JSON.stringify(got.issue));
  return got.mesh;
}

function issue(bytes: Uint8Array | string) {
  const got = readStl(typeof bytes === "string" ? new TextEncoder().encode(bytes) : bytes, "a.stl");
  if (got.ok) throw new Error("was read");
  return got.issue;
}

/** As single precision keeps it. */
const single = ({ vertices, indices }: MeshData): MeshData => ({ vertices: vertices.map(Math.fround), indices });

const shapes = {
  box: boxMesh([30, 40, 50], [5, 0, 0]),
  sphere: sphereMesh(20, 3),
  torus: torusMesh(50, 10, 40, 24),
};
const corner = (t: number, k: number) => 84 + 50 * t + 12 + 12 * k;
const facet = (corners: string) =>
  `solid x\nfacet normal 0 0 1\nouter loop\n${corners}\nendloop\nendfacet\nendsolid x\n`;

describe("files that are right", () => {
  it.each(Object.entries(shapes))("%s, binary and ASCII: same triangles, each vertex once, closed", (_, shape) => {
    for (const [bytes, expected] of [
      [binaryStl(shape), single(shape)],
      [binaryStl(shape, "solid that is not text"), single(shape)],
      [asciiStl(shape), shape],
      [asciiStl(shape, "part of two words"), shape],
    ] as const) {
      const mesh = read(bytes);
      expect(mesh.vertices.length).toBe(expected.vertices.length);
      const soup = (m: MeshData) => [...m.indices].flatMap((i) => [...m.vertices.subarray(3 * i, 3 * i + 3)]);
      expect(soup(mesh)).toEqual(soup(expected).map((value) => value + 0));
      const report = inspectMesh(mesh.vertices, mesh.indices);
      expect(report.solid).toBe(true);
      expect(report.volume).toBeCloseTo(volumeOf(expected), 4);
    }
  });

  it("a box has its closed-form volume", () => {
    const { vertices, indices } = read(binaryStl(shapes.box));
    expect(inspectMesh(vertices, indices).volume).toBeCloseTo(60_000, 6);
  });

  it("corners that differ by a rounding of single precision are one vertex", () => {
    const bytes = binaryStl(shapes.box);
    const view = new DataView(bytes.buffer);
    for (let t = 0; t < 12; t++)
      for (let k = 0; k < 3; k++) {
        const y = view.getFloat32(corner(t, k) + 4, true);
        view.setFloat32(corner(t, k) + 4, y * (1 + ((t % 3) - 1) * 1.2e-7), true);
      }
    const { vertices, indices } = read(bytes);
    expect(vertices.length).toBe(24);
    expect(inspectMesh(vertices, indices).solid).toBe(true);
  });

  it("ASCII in capitals, with several solids, tabs, windows lines, a byte order mark, a nan normal and no name", () => {
    const one = (name: string) =>
      `\ufeffSOLID${name}\r\n\tFACET NORMAL nan -nan(ind) nan\r\n\tOUTER LOOP\r\n\tVERTEX 0 0 .5\r\n\tVERTEX +1.5e0 0 0.5\r\n\tVERTEX 0 2E+00 5.0e-1\r\n\tENDLOOP\r\n\tENDFACET\r\nENDSOLID${name}\r\n`;
    const bytes = new TextEncoder().encode(one("") + one(" two").slice(1));
    const { vertices, indices } = read(bytes);
    expect([...indices]).toEqual([0, 1, 2, 0, 1, 2]);
    expect([...vertices]).toEqual([0, 0, 0.5, 1.5, 0, 0.5, 0, 2, 0.5]);
  });

  it("numbers of ASCII files are the nearest doubles", () => {
    const seeds = fc.oneof(
      fc.double({ noNaN: true, noDefaultInfinity: true, min: -1e12, max: 1e12 }).map(String),
      fc.double({ noNaN: true, min: -1e4, max: 1e4 }).map((x) => x.toFixed(6)),
      fc.double({ noNaN: true, min: -1e4, max: 1e4 }).map((x) => x.toExponential(8)),
      fc.bigInt({ min: 0n, max: 10n ** 30n }).map((x) => `000.${x}${x}e-3`),
    );
    fc.assert(
      fc.property(seeds, (text) => {
        const got = readStl(new TextEncoder().encode(facet(`vertex ${text} 0 0\nvertex 0 1 0\nvertex 0 0 1`)), "a.stl");
        if (!got.ok) throw new Error(got.issue.found);
        expect(got.mesh.vertices[0]).toBe(Number(text) + 0);
      }),
      { seed: 5, numRuns: 300 },
    );
  });
});

describe("files that are wrong", () => {
  it.each([
    [
      "cut in the middle",
      binaryStl(shapes.box).subarray(0, 300),
      "mesh-truncated",
      /room for 4 triangles.*count of 12/,
    ],
    ["shorter than a header", new Uint8Array(50), "mesh-truncated", /50 bytes/],
    ["empty", new Uint8Array(0), "mesh-truncated", /0 bytes/],
    ["too long", new Uint8Array([...binaryStl(shapes.box), 1, 2, 3]), "mesh-count", /count of 12/],
    ["no triangle", new Uint8Array(84), "mesh-empty", /no triangle/],
  ])("binary, %s", (_, bytes, code, found) => {
    expect(issue(bytes)).toMatchObject({
      code,
      found: expect.stringMatching(found),
      place: { file: "a.stl", line: 1 },
    });
  });

  it("a count beyond the size of the file allocates nothing", () => {
    const bytes = new Uint8Array(134);
    new DataView(bytes.buffer).setUint32(80, 0xffffffff, true);
    expect(issue(bytes)).toMatchObject({ code: "mesh-truncated", found: expect.stringContaining("4294967295") });
  });

  it("a coordinate that is no number is named by triangle and byte", () => {
    const bytes = binaryStl(shapes.box);
    new DataView(bytes.buffer).setFloat32(corner(3, 1), Number.NaN, true);
    expect(issue(bytes)).toMatchObject({
      code: "mesh-not-finite",
      found: expect.stringMatching(new RegExp(`^a corner at \\(NaN, .*\\) in triangle 4, byte ${corner(3, 1)}$`)),
    });
  });

  it.each([
    ["no facet word", "solid x\nfacett normal 0 0 1\n", "mesh-syntax", 2, '"facett"'],
    ["four corners", facet("vertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nvertex 0 0 1"), "mesh-syntax", 7, '"vertex"'],
    ["two corners", facet("vertex 0 0 0\nvertex 1 0 0"), "mesh-syntax", 6, '"endloop"'],
    ["a word for a number", facet("vertex 0 0 0\nvertex 1 o 0\nvertex 0 1 0"), "mesh-syntax", 5, '"o"'],
    ["a decimal comma", facet("vertex 0 0 0\nvertex 1,5 0 0\nvertex 0 1 0"), "mesh-syntax", 5, '"1,5"'],
    ["not a number", facet("vertex 0 0 0\nvertex 1 NaN 0\nvertex 0 1 0"), "mesh-not-finite", 5, '"NaN"'],
    ["a number beyond all", facet("vertex 0 0 0\nvertex 1 -1e999 0\nvertex 0 1 0"), "mesh-not-finite", 5, '"-1e999"'],
    [
      "the end missing",
      facet("vertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0").replace(/endsolid[\s\S]*/, ""),
      "mesh-truncated",
      9,
      "the end of the file",
    ],
    [
      "something behind the end",
      `${facet("vertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0")}more`,
      "mesh-syntax",
      10,
      '"more"',
    ],
    [
      "coordinates beyond all sense",
      facet("vertex 0 0 0\nvertex 1e13 0 0\nvertex 0 1 0"),
      "mesh-out-of-range",
      1,
      "a coordinate of 10000000000000",
    ],
    ["no facets", "solid x\nendsolid x\n", "mesh-empty", 1, "no triangle"],
    ["no solid", "facet normal 0 0 1\n", "mesh-syntax", 1, '"facet"'],
  ])("ASCII, %s", (_, text, code, line, found) => {
    const got = issue(text);
    expect(got).toMatchObject({ code, found, place: { file: "a.stl", line } });
    expect(got.mend).toMatch(/\.$/);
  });
});

describe("damaged bytes", () => {
  const seeds = [binaryStl(shapes.box), asciiStl(shapes.box), asciiStl(sphereMesh(10, 1))];
  it("are read or refused, and what is read is sound", () => {
    const damage = fc.record({
      of: fc.nat(seeds.length - 1),
      cut: fc.option(fc.double({ min: 0, max: 1, noNaN: true })),
      changes: fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.nat(255)), { maxLength: 8 }),
    });
    const outcome = { read: 0, refused: 0 };
    fc.assert(
      fc.property(damage, ({ of, cut, changes }) => {
        const bytes = seeds[of]!.slice(0, cut === null ? undefined : Math.floor(cut * seeds[of]!.length));
        for (const [at, value] of changes) if (bytes.length > 0) bytes[Math.floor(at * (bytes.length - 1))] = value;
        const got = readStl(bytes, "a.stl");
        if (got.ok) {
          outcome.read++;
          inspectMesh(got.mesh.vertices, got.mesh.indices);
        } else {
          outcome.refused++;
          expect(got.issue.code).toMatch(/^mesh-/);
        }
      }),
      { seed: 11, numRuns: 1500 },
    );
    expect(outcome.read).toBeGreaterThan(100);
    expect(outcome.refused).toBeGreaterThan(100);
  });

  it("any bytes at all", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 400 }), fc.boolean(), (bytes, text) => {
        const got = readStl(text ? new TextEncoder().encode(`solid ${String.fromCharCode(...bytes)}`) : bytes, "a.stl");
        if (got.ok) inspectMesh(got.mesh.vertices, got.mesh.indices);
      }),
      { seed: 3, numRuns: 500 },
    );
  });
});
