/** STEP files (ISO 10303-21, schema AUTOMOTIVE_DESIGN) of a box and a cylinder, written by hand as boundary representations. */

export type StepUnit = "mm" | "m" | "inch";

class Lines {
  readonly lines: string[] = [];
  add(entity: string): string {
    this.lines.push(`#${this.lines.length + 1}=${entity};`);
    return `#${this.lines.length}`;
  }
  point(p: readonly number[]): string {
    return this.add(`CARTESIAN_POINT('',(${p.map(real).join(",")}))`);
  }
  direction(d: readonly number[]): string {
    return this.add(`DIRECTION('',(${d.map(real).join(",")}))`);
  }
  vertex(p: readonly number[]): string {
    return this.add(`VERTEX_POINT('',${this.point(p)})`);
  }
  placement(p: readonly number[], z: readonly number[], x: readonly number[]): string {
    return this.add(`AXIS2_PLACEMENT_3D('',${this.point(p)},${this.direction(z)},${this.direction(x)})`);
  }
}

/** A real number must have a point in STEP. */
const real = (value: number) => (Number.isInteger(value) ? `${value}.` : String(value));

/** Box of full lengths, in the unit, with one corner at the origin. */
export function stepBox(size: readonly [number, number, number], unit: StepUnit): Uint8Array {
  return boxes(size, unit, []);
}

function boxes(size: readonly [number, number, number], unit: StepUnit, places: readonly StepPlace[]): Uint8Array {
  const lines = new Lines();
  const at = (i: number) => [0, 1, 2].map((k) => ((i >> k) & 1) * size[k]!);
  const vertices = Array.from({ length: 8 }, (_, i) => lines.vertex(at(i)));
  const edges = new Map<string, string>();
  const edge = (a: number, b: number): string => {
    const [low, high] = [Math.min(a, b), Math.max(a, b)];
    const key = `${low} ${high}`;
    if (!edges.has(key)) {
      const along = at(high).map((value, k) => value - at(low)[k]!);
      const length = Math.hypot(...along);
      const vector = lines.add(`VECTOR('',${lines.direction(along.map((value) => value / length))},1.)`);
      const line = lines.add(`LINE('',${lines.point(at(low))},${vector})`);
      edges.set(key, lines.add(`EDGE_CURVE('',${vertices[low]},${vertices[high]},${line},.T.)`));
    }
    return lines.add(`ORIENTED_EDGE('',*,*,${edges.get(key)},${a === low ? ".T." : ".F."})`);
  };
  const quads = [
    { corners: [0, 2, 3, 1], normal: [0, 0, -1], x: [1, 0, 0] },
    { corners: [4, 5, 7, 6], normal: [0, 0, 1], x: [1, 0, 0] },
    { corners: [0, 1, 5, 4], normal: [0, -1, 0], x: [1, 0, 0] },
    { corners: [2, 6, 7, 3], normal: [0, 1, 0], x: [1, 0, 0] },
    { corners: [0, 4, 6, 2], normal: [-1, 0, 0], x: [0, 1, 0] },
    { corners: [1, 3, 7, 5], normal: [1, 0, 0], x: [0, 1, 0] },
  ];
  const faces = quads.map(({ corners, normal, x }) => {
    const loop = lines.add(`EDGE_LOOP('',(${corners.map((c, i) => edge(c, corners[(i + 1) % 4]!)).join(",")}))`);
    const bound = lines.add(`FACE_OUTER_BOUND('',${loop},.T.)`);
    const plane = lines.add(`PLANE('',${lines.placement(at(corners[0]!), normal, x)})`);
    return lines.add(`ADVANCED_FACE('',(${bound}),${plane},.T.)`);
  });
  return file(lines, faces, unit, places);
}

export interface StepPlace {
  readonly at: readonly number[];
  /** Directions of the part's z and x axes. */
  readonly z: readonly number[];
  readonly x: readonly number[];
}

/** An assembly that holds one box at each place; box as stepBox. */
export function stepAssembly(
  size: readonly [number, number, number],
  unit: StepUnit,
  places: readonly StepPlace[],
): Uint8Array {
  return boxes(size, unit, places);
}

/** Cylinder along z from the origin, in the unit. */
export function stepCylinder(radius: number, height: number, unit: StepUnit): Uint8Array {
  const lines = new Lines();
  const circle = (z: number) => {
    const vertex = lines.vertex([radius, 0, z]);
    const curve = lines.add(`CIRCLE('',${lines.placement([0, 0, z], [0, 0, 1], [1, 0, 0])},${real(radius)})`);
    return { vertex, edge: lines.add(`EDGE_CURVE('',${vertex},${vertex},${curve},.T.)`) };
  };
  const low = circle(0),
    high = circle(height);
  const vector = lines.add(`VECTOR('',${lines.direction([0, 0, 1])},1.)`);
  const line = lines.add(`LINE('',${lines.point([radius, 0, 0])},${vector})`);
  const seam = lines.add(`EDGE_CURVE('',${low.vertex},${high.vertex},${line},.T.)`);
  const use = (edge: string, forward: boolean) => lines.add(`ORIENTED_EDGE('',*,*,${edge},${forward ? ".T." : ".F."})`);
  const face = (uses: readonly string[], surface: string, same: boolean) => {
    const loop = lines.add(`EDGE_LOOP('',(${uses.join(",")}))`);
    const bound = lines.add(`FACE_OUTER_BOUND('',${loop},.T.)`);
    return lines.add(`ADVANCED_FACE('',(${bound}),${surface},${same ? ".T." : ".F."})`);
  };
  const side = lines.add(`CYLINDRICAL_SURFACE('',${lines.placement([0, 0, 0], [0, 0, 1], [1, 0, 0])},${real(radius)})`);
  const plane = (z: number, up: number) => lines.add(`PLANE('',${lines.placement([0, 0, z], [0, 0, up], [1, 0, 0])})`);
  const faces = [
    face([use(low.edge, true), use(seam, true), use(high.edge, false), use(seam, false)], side, true),
    face([use(low.edge, false)], plane(0, -1), true),
    face([use(high.edge, true)], plane(height, 1), true),
  ];
  return file(lines, faces, unit);
}

function file(lines: Lines, faces: readonly string[], unit: StepUnit, places: readonly StepPlace[] = []): Uint8Array {
  const solid = lines.add(`MANIFOLD_SOLID_BREP('',${lines.add(`CLOSED_SHELL('',(${faces.join(",")}))`)})`);
  const millimetre = "(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))";
  const length =
    unit === "mm"
      ? lines.add(millimetre)
      : unit === "m"
        ? lines.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT($,.METRE.))")
        : inch(lines, millimetre);
  const angle = lines.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
  const solidAngle = lines.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
  const exact = lines.add(
    `UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),${length},'distance_accuracy_value','')`,
  );
  const context = lines.add(
    `(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((${exact}))GLOBAL_UNIT_ASSIGNED_CONTEXT((${length},${angle},${solidAngle}))REPRESENTATION_CONTEXT('',''))`,
  );
  const origin = lines.placement([0, 0, 0], [0, 0, 1], [1, 0, 0]);
  const shape = lines.add(`ADVANCED_BREP_SHAPE_REPRESENTATION('',(${origin},${solid}),${context})`);
  const application = lines.add("APPLICATION_CONTEXT('automotive design')");
  lines.add(`APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,${application})`);
  const defined = (name: string, representation: string): string => {
    const context = lines.add(`PRODUCT_CONTEXT('',${application},'mechanical')`);
    const product = lines.add(`PRODUCT('${name}','${name}','',(${context}))`);
    const formation = lines.add(`PRODUCT_DEFINITION_FORMATION('','',${product})`);
    const use = lines.add(`PRODUCT_DEFINITION_CONTEXT('part definition',${application},'design')`);
    const definition = lines.add(`PRODUCT_DEFINITION('design','',${formation},${use})`);
    lines.add(
      `SHAPE_DEFINITION_REPRESENTATION(${lines.add(`PRODUCT_DEFINITION_SHAPE('','',${definition})`)},${representation})`,
    );
    return definition;
  };
  const part = defined("part", shape);
  if (places.length > 0) {
    const axes = places.map(({ at, z, x }) => lines.placement(at, z, x));
    const whole = lines.add(`SHAPE_REPRESENTATION('',(${[origin, ...axes].join(",")}),${context})`);
    const assembly = defined("assembly", whole);
    for (const [i, axis] of axes.entries()) {
      const use = lines.add(`NEXT_ASSEMBLY_USAGE_OCCURRENCE('${i}','${i}','',${assembly},${part},$)`);
      const moved = lines.add(`ITEM_DEFINED_TRANSFORMATION('','',${origin},${axis})`);
      const relation = lines.add(
        `(REPRESENTATION_RELATIONSHIP('','',${shape},${whole})REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(${moved})SHAPE_REPRESENTATION_RELATIONSHIP())`,
      );
      const used = lines.add(`PRODUCT_DEFINITION_SHAPE('','',${use})`);
      lines.add(`CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(${relation},${used})`);
    }
  }
  const text = [
    "ISO-10303-21;",
    "HEADER;",
    "FILE_DESCRIPTION(('a part made for a test'),'2;1');",
    "FILE_NAME('part','2026-01-01T00:00:00',(''),(''),'','','');",
    "FILE_SCHEMA(('AUTOMOTIVE_DESIGN'));",
    "ENDSEC;",
    "DATA;",
    ...lines.lines,
    "ENDSEC;",
    "END-ISO-10303-21;",
    "",
  ];
  return new TextEncoder().encode(text.join("\n"));
}

function inch(lines: Lines, millimetre: string): string {
  const measure = lines.add(`LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),${lines.add(millimetre)})`);
  const exponents = lines.add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)");
  return lines.add(`(CONVERSION_BASED_UNIT('INCH',${measure})LENGTH_UNIT()NAMED_UNIT(${exponents}))`);
}
