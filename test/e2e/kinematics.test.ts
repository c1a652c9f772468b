/** `fk`, `ik`, `dynamics` and `time`: JSON Lines through pipes, answers that agree with one another, bad lines, long input. */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ended, root, run, start } from "./program.ts";

const CELL = join(root, "test", "cells", "small-lathe.yaml");

/** Two turning joints in a plane and a slide along the last link: everything can be worked out by hand. */
const PLANAR = `<robot name="planar">
  <link name="base"/>
  <link name="upper"><inertial><origin xyz="0.25 0 0"/><mass value="2"/><inertia ixx="0" iyy="0.02" izz="0.02" ixy="0" ixz="0" iyz="0"/></inertial></link>
  <link name="fore"><inertial><origin xyz="0.2 0 0"/><mass value="1"/><inertia ixx="0" iyy="0.01" izz="0.01" ixy="0" ixz="0" iyz="0"/></inertial></link>
  <link name="rod"><inertial><mass value="0.5"/><inertia ixx="0" iyy="0" izz="0" ixy="0" ixz="0" iyz="0"/></inertial></link>
  <joint name="shoulder" type="revolute"><parent link="base"/><child link="upper"/><axis xyz="0 0 1"/><limit lower="-2.5" upper="2.5" velocity="2" effort="50"/></joint>
  <joint name="elbow" type="revolute"><parent link="upper"/><child link="fore"/><origin xyz="0.5 0 0"/><axis xyz="0 0 1"/><limit lower="-2.5" upper="2.5" velocity="2" effort="20"/></joint>
  <joint name="slide" type="prismatic"><parent link="fore"/><child link="rod"/><origin xyz="0.4 0 0"/><axis xyz="1 0 0"/><limit lower="0" upper="0.2" velocity="1" effort="20"/></joint>
</robot>
`;

let folder: string;
let planar: string;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "millhand-kinematics-"));
  planar = join(folder, "planar.urdf");
  writeFileSync(planar, PLANAR);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

type Answer = Record<string, unknown> & {
  pose: number[];
  solutions: number[][];
  torque: number[];
  duration_s: number;
  error: string;
};
const lines = (records: readonly object[]) => records.map((r) => `${JSON.stringify(r)}\n`).join("");
const answers = (text: string) =>
  text
    .trimEnd()
    .split("\n")
    .map((line) => JSON.parse(line) as Answer);

/** Joint values of the six-axis arm, inside its limits (shares of a fixed sequence). */
const spread = (i: number) => [1, 2, 3, 4, 5, 6].map((k) => Math.sin(i * k * 0.7 + k) * 1.5 + (k === 2 ? 1 : 0));

describe("fk", () => {
  it("places the flange of an arm worked out by hand", async () => {
    const [a, b, d] = [0.3, -0.8, 0.15];
    const { stdout, stderr, status } = await run(["fk", "--arm", planar], {
      input: lines([{ id: "x", q: [a, b, d] }]),
    });
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    const { id, pose } = answers(stdout)[0]!;
    expect(id).toBe("x");
    const reach = 0.4 + d;
    const expected = [
      [Math.cos(a + b), -Math.sin(a + b), 0, 0.5 * Math.cos(a) + reach * Math.cos(a + b)],
      [Math.sin(a + b), Math.cos(a + b), 0, 0.5 * Math.sin(a) + reach * Math.sin(a + b)],
      [0, 0, 1, 0],
      [0, 0, 0, 1],
    ].flat();
    for (const [k, value] of expected.entries()) expect(pose[k]).toBeCloseTo(value, 14);
  });

  it("gives the tool centre point with --tool, 150 mm further along the flange's z", async () => {
    const input = lines([{ id: 0, q: spread(1) }]);
    const [flange, tcp] = await Promise.all([
      run(["fk", "--arm", CELL], { input }),
      run(["fk", "--arm", CELL, "--tool", "gripper"], { input }),
    ]);
    const [f, t] = [answers(flange.stdout)[0]!.pose, answers(tcp.stdout)[0]!.pose];
    for (const r of [0, 4, 8]) expect(t[r + 3]).toBeCloseTo(f[r + 3]! + 0.15 * f[r + 2]!, 12);
  });

  it("says which grippers there are", async () => {
    const named = await run(["fk", "--arm", CELL, "--tool", "claw"]);
    expect(named).toEqual({
      stdout: "",
      stderr: `millhand: ${CELL}: --tool: found claw; expected one of gripper\n`,
      status: 2,
    });
    expect((await run(["fk", "--arm", planar, "--tool"])).stderr).toContain("the file has no gripper");
  });

  it("reads a file with only an arm and a tool", async () => {
    const text = readFileSync(CELL, "utf8");
    const section = (name: string) => new RegExp(`^${name}:\\n(?: .*\\n|\\n)+`, "m").exec(text)![0];
    const armOnly = join(folder, "arm.yaml");
    writeFileSync(armOnly, section("arm") + section("tool"));
    const input = lines([{ id: 0, q: spread(2) }]);
    const [whole, alone] = await Promise.all([
      run(["fk", "--arm", CELL, "--tool"], { input }),
      run(["fk", "--arm", armOnly, "--tool"], { input }),
    ]);
    expect(alone).toEqual(whole);
    expect(alone.status).toBe(0);
  });

  it("keeps the order, marks bad lines in their place, tells them by number and ends with status 2", async () => {
    const input = [
      JSON.stringify({ id: 1, q: spread(1) }),
      "not json",
      JSON.stringify({ id: 3, q: [1, 2] }),
      JSON.stringify({ id: 4, q: [1, 2, 3, 4, 5, "6"] }),
      '{"id":5,"q":[1,2,3,4,5,1e999]}',
      JSON.stringify({ id: 6 }),
      "",
      JSON.stringify({ id: 8, q: spread(2) }),
    ].join("\n");
    const { stdout, stderr, status } = await run(["fk", "--arm", CELL], { input });
    expect(status).toBe(2);
    const out = answers(stdout);
    expect(out.map((o) => o["id"])).toEqual([1, null, 3, 4, 5, 6, 8]);
    expect(out.map((o) => "pose" in o)).toEqual([true, false, false, false, false, false, true]);
    expect(stderr.trimEnd().split("\n")).toEqual([
      "millhand: line 2: found not json, which is not JSON; expected a JSON object",
      "millhand: line 3: found q with 2 entries; expected 6 numbers (joint values of 6 joints, rad)",
      'millhand: line 4: found q[5]: "6"; expected a finite number',
      "millhand: line 5: found q[5]: null; expected a finite number",
      'millhand: line 6: found q: nothing; expected "q" with 6 numbers (joint values of 6 joints, rad)',
    ]);
  });

  it("answers 100,000 lines in bounded memory while its reader is slow", async () => {
    const count = 100_000;
    const child = start(["fk", "--arm", CELL]);
    let peak = 0;
    const watch = setInterval(() => {
      try {
        const status = readFileSync(`/proc/${child.pid}/status`, "utf8");
        peak = Math.max(peak, Number(/VmRSS:\s+(\d+) kB/.exec(status)?.[1] ?? 0));
      } catch {
        // Ended between two looks.
      }
    }, 20);
    // Written as fast as it is taken; the output is left unread until the input has stopped flowing.
    let i = 0;
    const feed = () => {
      for (; i < count; i++) if (!child.stdin.write(`{"id":${i},"q":[${spread(i).join(",")}]}\n`)) return;
      child.stdin.end();
    };
    child.stdin.on("drain", () => {
      i++;
      feed();
    });
    feed();
    await new Promise((resolve) => setTimeout(resolve, 1500));
    const takenBeforeReading = i;
    const { stdout, stderr, status } = await ended(child);
    clearInterval(watch);
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    // 100,000 lines are 13 MB in and 30 MB out; the pipes and one batch hold a small part of that.
    expect(takenBeforeReading).toBeLessThan(count / 4);
    const out = stdout.trimEnd().split("\n");
    expect(out).toHaveLength(count);
    for (const k of [0, 1, 777, 99_999]) expect((JSON.parse(out[k]!) as Answer)["id"]).toBe(k);
    expect(peak).toBeGreaterThan(0);
    expect(peak).toBeLessThan(250_000);
  });

  it("stops at Ctrl-C between lines, with status 3", async () => {
    const child = start(["fk", "--arm", CELL]);
    const end = ended(child);
    child.stdin.on("error", () => {});
    const line = `{"id":1,"q":[${spread(1).join(",")}]}\n`;
    child.stdin.write(line.repeat(50));
    child.stdout.once("data", () => child.kill("SIGINT"));
    const { stdout, stderr, status } = await end;
    expect({ stderr, status }).toEqual({ stderr: "millhand: interrupted\n", status: 3 });
    expect(stdout.endsWith("}\n")).toBe(true);
    expect(answers(stdout)).toHaveLength(50);
  });

  it("ends quietly when its reader goes away", async () => {
    const child = start(["fk", "--arm", CELL]);
    const end = ended(child);
    child.stdin.on("error", () => {});
    const line = `{"id":1,"q":[${spread(1).join(",")}]}\n`;
    child.stdout.once("data", () => child.stdout.destroy());
    const feed = setInterval(() => child.stdin.write(line.repeat(500)), 1);
    const { stderr, status } = await end;
    clearInterval(feed);
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
  });

  it("gives one document on request, and says what it cannot read", async () => {
    const { stdout } = await run(["fk", "--arm", planar, "--json"], { input: lines([{ id: 1, q: [0, 0, 0] }]) });
    expect(JSON.parse(stdout)).toMatchObject({ schemaVersion: 1, results: [{ id: 1 }] });
  });
});

describe("ik", () => {
  it("finds joint values that bring the flange back to 1e-9, all different, the original among them", async () => {
    const states = Array.from({ length: 60 }, (_, i) => spread(i));
    const { stdout: poses } = await run(["fk", "--arm", CELL], { input: lines(states.map((q, id) => ({ id, q }))) });
    const { stdout, stderr, status } = await run(["ik", "--arm", CELL], { input: poses });
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    const solved = answers(stdout);
    const all = solved.flatMap(({ solutions }, id) => solutions.map((q) => ({ id, q })));
    const { stdout: again } = await run(["fk", "--arm", CELL], { input: lines(all) });
    const wanted = answers(poses);
    for (const { id, pose } of answers(again)) {
      const target = wanted[id as number]!.pose;
      for (let k = 0; k < 12; k++) expect(Math.abs(pose[k]! - target[k]!)).toBeLessThan(1e-9);
    }
    for (const [id, { solutions }] of solved.entries()) {
      const turns = (q: number[]) => q.map((v) => v - 2 * Math.PI * Math.round(v / (2 * Math.PI)));
      const near = (a: number[], b: number[]) => turns(a.map((v, k) => v - b[k]!)).every((d) => Math.abs(d) < 1e-6);
      expect(solutions.some((q) => near(q, states[id]!))).toBe(true);
      for (const [k, q] of solutions.entries())
        expect(solutions.slice(k + 1).some((other) => near(q, other))).toBe(false);
    }
  });

  it("gives the copies a turn away on request, for joints that can turn so far", async () => {
    const { stdout: poses } = await run(["fk", "--arm", CELL], { input: lines([{ id: 0, q: spread(4) }]) });
    const [plain, all] = await Promise.all([
      run(["ik", "--arm", CELL], { input: poses }),
      run(["ik", "--arm", CELL, "--all-turns"], { input: poses }),
    ]);
    const [few, many] = [answers(plain.stdout)[0]!.solutions, answers(all.stdout)[0]!.solutions];
    // Joint 6 turns ±360°, so every branch has its copy.
    expect(many.length).toBeGreaterThanOrEqual(2 * few.length);
    for (const q of many) expect(Math.abs(q[5]!)).toBeLessThanOrEqual(2 * Math.PI);
  });

  it("says how near it can come where a pose is out of reach", async () => {
    const pose = [1, 0, 0, 5, 0, 1, 0, 0, 0, 0, 1, 0.4, 0, 0, 0, 1];
    const { stdout, status } = await run(["ik", "--arm", CELL], { input: lines([{ id: "far", pose }]) });
    expect(status).toBe(0);
    const [answer] = answers(stdout) as (Answer & {
      leastSquares: { q: number[]; position_m: number; rotation_rad: number };
    })[];
    expect(answer!.solutions).toEqual([]);
    const { q, position_m } = answer!.leastSquares;
    const { stdout: near } = await run(["fk", "--arm", CELL], { input: lines([{ id: 0, q }]) });
    const reached = answers(near)[0]!.pose;
    expect(Math.hypot(reached[3]! - 5, reached[7]!, reached[11]! - 0.4)).toBeCloseTo(position_m, 9);
    // The arm is 0.45 + 0.42 + 0.08 m and an offset of 0.035 m long, on a shoulder 0.4 m high.
    expect(position_m).toBeGreaterThan(5 - 0.99);
    expect(position_m).toBeLessThan(5);
  });

  it("refuses what is no rigid transform in place of solving something else", async () => {
    const bad = [
      [2, 0, 0, 0.5, 0, 1, 0, 0, 0, 0, 1, 0.4, 0, 0, 0, 1],
      [-1, 0, 0, 0.5, 0, 1, 0, 0, 0, 0, 1, 0.4, 0, 0, 0, 1],
      [1, 0, 0, 0.5, 0, 1, 0, 0, 0, 0, 1, 0.4, 0, 0, 1, 1],
      [1, 0, 0, 0.5],
    ];
    const { stdout, stderr, status } = await run(["ik", "--arm", CELL], {
      input: lines(bad.map((pose, id) => ({ id, pose }))),
    });
    expect(status).toBe(2);
    for (const answer of answers(stdout)) expect(Object.keys(answer)).toEqual(["id", "error"]);
    expect(stderr).toContain(
      "rotation is off by 3; expected a rigid transform (last row 0 0 0 1, rotation orthonormal to 0.000001, right-handed)",
    );
    expect(stderr).toContain("rotation is left-handed");
  });
});

describe("dynamics", () => {
  it("holds the planar arm against gravity as the lever rule says", async () => {
    const state = { id: 0, q: [0, 0, 0.1], qd: [0, 0, 0], qdd: [0, 0, 0] };
    const { stdout, status } = await run(["dynamics", "--arm", planar, "--gravity", "0,-10,0"], {
      input: lines([state]),
    });
    expect(status).toBe(0);
    const { torque } = answers(stdout)[0]!;
    // Masses 2, 1 and 0.5 kg at 0.25, 0.7 and 1.0 m from the shoulder; 0.2 and 0.5 m from the elbow.
    expect(torque[0]).toBeCloseTo(10 * (2 * 0.25 + 1 * 0.7 + 0.5 * 1.0), 12);
    expect(torque[1]).toBeCloseTo(10 * (1 * 0.2 + 0.5 * 0.5), 12);
    expect(torque[2]).toBeCloseTo(0, 12);
  });

  it("takes gravity from the cell or straight down", async () => {
    const state = { id: 0, q: [0, 0, 0.1], qd: [0, 0, 0], qdd: [0, 0, 0] };
    const flat = await run(["dynamics", "--arm", planar], { input: lines([state]) });
    for (const t of answers(flat.stdout)[0]!.torque) expect(t).toBeCloseTo(0, 12);
    const cell = { id: 0, q: spread(3), qd: spread(4), qdd: spread(5) };
    const [own, stated] = await Promise.all([
      run(["dynamics", "--arm", CELL], { input: lines([cell]) }),
      run(["dynamics", "--arm", CELL, "--gravity", "0,0,-9.80665"], { input: lines([cell]) }),
    ]);
    expect(own.stdout).toBe(stated.stdout);
  });

  it("refuses an arm without masses, since its torques are not known", async () => {
    const bare = join(folder, "bare.urdf");
    writeFileSync(bare, PLANAR.replaceAll(/<inertial>.*<\/inertial>/g, ""));
    const { stderr, status } = await run(["dynamics", "--arm", bare]);
    expect(status).toBe(2);
    expect(stderr).toContain("states no masses");
  });
});

describe("time", () => {
  it("times joint motions as the limits say", async () => {
    // Joint 1 alone: 200 deg/s, 700 deg/s², 7000 deg/s³. 90° reaches full speed: t = d/v + v/a + a/j (Biagiotti & Melchiorri 2008, ch. 3).
    const home = [0, 1, 0.5, 0, 0.5, 0];
    const turned = [Math.PI / 2, 1, 0.5, 0, 0.5, 0];
    const { stdout, stderr, status } = await run(["time", CELL], {
      input: lines([
        { id: "turn", kind: "joint", points: [home, turned] },
        { id: "there and back", kind: "joint", points: [home, turned, home] },
        { id: "stay", kind: "joint", points: [home, home] },
      ]),
    });
    expect({ stderr, status }).toEqual({ stderr: "", status: 0 });
    const [turn, back, stay] = answers(stdout) as [Answer, Answer, Answer];
    const expected = 90 / 200 + 200 / 700 + 700 / 7000;
    // The tool speed or the torque may bind and make it longer, never shorter.
    expect(turn.duration_s).toBeGreaterThanOrEqual(expected - 1e-9);
    expect(back.duration_s).toBeCloseTo(2 * turn.duration_s, 6);
    expect(stay.duration_s).toBe(0);
    const limits = turn["limits"] as { joint?: number; kind: string }[];
    expect(limits.length).toBeGreaterThan(0);
    for (const { kind } of limits) expect(typeof kind).toBe("string");
  });

  it("times lines between poses and between joint values alike, and says why one cannot be done", async () => {
    const q = [0, 1, 0.5, 0, 0.5, 0];
    const { stdout: fk } = await run(["fk", "--arm", CELL], { input: lines([{ id: 0, q }]) });
    const start0 = answers(fk)[0]!.pose;
    const end = [...start0];
    end[7]! += 0.2;
    const far = [...start0];
    far[3]! += 3;
    const { stdout, status } = await run(["time", CELL], {
      input: lines([
        { id: 0, kind: "line", points: [q, end] },
        { id: 1, kind: "line", points: [start0, end] },
        { id: 2, kind: "line", points: [q, far] },
        { id: 3, kind: "arc", points: [q, end, start0] },
      ]),
    });
    expect(status).toBe(1);
    const [a, b, c, d] = answers(stdout) as [Answer, Answer, Answer, Answer];
    // 0.2 m at no more than 2 m/s and 20 m/s²: at least 2·√(0.2/20) s.
    expect(a.duration_s).toBeGreaterThan(0.2);
    expect(b["start"]).toHaveLength(6);
    expect(b.duration_s).toBeGreaterThan(0.2);
    expect(c["reason"]).toBe("out of reach");
    expect(c["segment"]).toBe(0);
    expect(c["fraction"]).toBeGreaterThan(0);
    expect(c["fraction"]).toBeLessThan(0.5);
    expect(d["id"]).toBe(3);
  });

  it("refuses lines that are no motions", async () => {
    const q = [0, 1, 0.5, 0, 0.5, 0];
    const { stdout, stderr, status } = await run(["time", CELL], {
      input: lines([
        { id: 0, kind: "spline", points: [q, q] },
        { id: 1, kind: "joint", points: [q] },
        { id: 2, kind: "joint", points: [q, [1, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1]] },
        { id: 3, kind: "arc", points: [q, q] },
        { id: 4, kind: "line", points: "q" },
        { id: 5, kind: "line", points: [q, [1, 2]] },
      ]),
    });
    expect(status).toBe(2);
    for (const answer of answers(stdout)) expect(Object.keys(answer)).toEqual(["id", "error"]);
    expect(stderr).toContain('line 1: found kind: "spline"; expected "joint", "line" or "arc"');
    expect(stderr).toContain(
      "line 6: found points[1] with 2 entries; expected 6 numbers (joint values, rad; or a pose of 16 numbers)",
    );
  });

  it("wants the limits that a timing rests on", async () => {
    const { stderr, status } = await run(["time", planar]);
    expect(status).toBe(2);
    expect(stderr).toContain(
      "a velocity and an acceleration limit are needed for every joint to time motions; missing for shoulder, elbow, slide",
    );
  });
});
