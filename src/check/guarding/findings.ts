/** Guarding as findings. A cell file without `guarding` gets none here: the standing caution tells that nothing is known of people. */
import type { Cell } from "../../cell/index.ts";
import { bodyRegions, LEAST_COMMON_CAUSE, MISSION_YEARS, travelOf, UNMONITORED_SPEED } from "../../guarding/index.ts";
import { toMm } from "../../math/units.ts";
import type { FindingList } from "../findings.ts";
import type { GuardResult } from "./guard-runs.ts";

const GUARDING = ["guarding"] as const;
const mm = (metres: number) => `${toMm(metres).toFixed(0)} mm`;
const speed = (value: number) => `${(1000 * value).toFixed(0)} mm/s`;

export function addGuardFindings(cell: Cell, result: GuardResult, findings: FindingList): void {
  const { guarding } = cell;
  if (guarding === undefined) {
    findings.add(
      "guarding-not-stated",
      "caution",
      [],
      "the file says nothing about people, zones and stopping, so separation distances, contact and performance levels cannot be told",
      "State `guarding`: people with their places, what watches the ways to the arm, reaction and stopping times.",
    );
    return;
  }
  addStopping(cell, result, findings);
  addApproaches(cell, result, findings);
  addContact(cell, result, findings);
  addMonitoring(cell, result, findings);
  addProcesses(cell, findings);
  addRegister(cell, result, findings);
  addFunctions(result, findings);
}

function addStopping(cell: Cell, { report }: GuardResult, findings: FindingList): void {
  const { stopping } = report;
  const needed = (cell.guarding?.zones.size ?? 0) > 0 || cell.guarding?.monitoring !== undefined;
  if (needed && stopping.reaction_s === null)
    findings.add(
      "reaction-time-not-stated",
      "warning",
      [...GUARDING, "stopping"],
      "no reaction time is stated, so no separation distance can be told",
      "State `reaction time`: response of the device, the safety control and the arm's controller together.",
    );
  const asked = needed || (cell.guarding?.people.size ?? 0) > 0;
  if (asked && (stopping.statedTime_s === null || stopping.statedDistance_m === null)) {
    const { computed } = stopping;
    findings.add(
      "stopping-not-stated",
      computed === null ? "warning" : "caution",
      [...GUARDING, "stopping"],
      computed === null
        ? "neither stopping time and distance nor the limits of the moving joints are stated, so no separation distance can be told"
        : `stopping time and distance are not both stated; from the joints' limits they are ${computed.time_s.toFixed(2)} s (${computed.joint}, ${computed.step}) and ${mm(computed.distance_m)}, what the arm can do at best`,
      "State `stopping time` and `stopping distance` as the arm's maker gives them for load and speed, and measure them on the built cell.",
    );
  }
}

function addApproaches(cell: Cell, { report }: GuardResult, findings: FindingList): void {
  for (const [name, { place, approachSpeed }] of cell.guarding?.people ?? []) {
    const path = [...GUARDING, "people", name];
    if (place === undefined)
      findings.add(
        "place-not-stated",
        "caution",
        path,
        `where ${name} stands is not stated, so the ways to the arm cannot be told`,
        "State `place`: one of the scene's operator places.",
      );
    if (approachSpeed < UNMONITORED_SPEED)
      findings.add(
        "approach-speed-low",
        "warning",
        path,
        `${name} is said to approach at ${speed(approachSpeed)}; unless the speed is monitored ${speed(UNMONITORED_SPEED)} are to be reckoned with`,
        "State 1.6 m/s, or monitor the speed of people.",
      );
  }
  for (const approach of report.approaches) {
    if (approach.nearestOpen !== null)
      findings.add(
        "way-not-guarded",
        "warning",
        [...GUARDING, "people", approach.person],
        `${(100 * approach.open).toFixed(0)} % of the arm's points in the routine can be walked to straight from ${approach.place} past no guarded zone and no fence; the nearest is ${mm(approach.nearestOpen.distance_m)} away, in ${approach.nearestOpen.step}`,
        "Close the way with a fence panel or a guarded zone, or show in the risk assessment what else bars it.",
      );
    for (const zone of approach.zones) {
      const path = [...GUARDING, "zones", zone.zone];
      if (zone.response !== "stop") continue;
      if (zone.missing_m === null)
        findings.add(
          "separation-unknown",
          "warning",
          path,
          `whether ${zone.zone} (${zone.by}) is far enough from the arm for ${approach.person} cannot be told: ${zone.reason}`,
          "State what is missing.",
          approach.person,
        );
      else if (zone.missing_m > 0)
        findings.add(
          "separation-too-short",
          "error",
          path,
          `${approach.person} coming from ${approach.place} is detected by ${zone.zone} (${zone.by}) ${mm(zone.placed_m)} from the arm, in ${zone.step}; ${mm(zone.needed_m!)} are needed (ISO 13855:2010: ${mm(zone.separation_m!)} for ${zone.time_s!.toFixed(2)} s, and ${mm(zone.overtravel_m!)} that the tool goes on), ${mm(zone.missing_m)} are missing`,
          "Move the device away from the arm, shorten reaction and stopping times, or slow the motion.",
          approach.person,
        );
    }
  }
  const seen = new Set(report.approaches.flatMap(({ zones }) => zones.map(({ zone }) => zone)));
  const placed = report.approaches.length > 0;
  for (const name of cell.guarding?.zones.keys() ?? [])
    if (placed && !seen.has(name))
      findings.add(
        "zone-not-passed",
        "caution",
        [...GUARDING, "zones", name],
        `no one who is stated comes first through ${name} on a straight way to the arm, so its distance is not compared`,
        "State the people and places that it is there for, or check where it stands.",
      );
}

function addContact(cell: Cell, result: GuardResult, findings: FindingList): void {
  const { report, approaches } = result;
  for (const [name, { body }] of cell.guarding?.people ?? []) {
    if (body.length === 0) continue;
    const path = [...GUARDING, "people", name];
    if (report.contact.steps.length === 0) {
      findings.add(
        "contact-unknown",
        "warning",
        path,
        `how hard the arm would hit ${name} cannot be told: ${report.contact.movingMass_kg === null ? "the masses of its links are not stated" : "the mass of the tool is not stated, or no motion could be made"}`,
        "State masses of all moving links and of the tool.",
      );
      continue;
    }
    const barred = body.filter((region) => bodyRegions.get(region)!.transientFactor === undefined);
    if (barred.length > 0)
      findings.add(
        "contact-not-permitted",
        "error",
        path,
        `${barred.join(" and ")} of ${name} may be touched by the file; the limits permit no blow there at any speed`,
        "Keep the head out of the arm's reach by guards, and take it off the list.",
      );
    const approach = approaches.find(({ person }) => person === name);
    if (approach?.stopped === true) continue;
    const most = approach?.reducedTo ?? Number.POSITIVE_INFINITY;
    for (const step of report.contact.steps) {
      if (step.allowed_mps === null || step.ratio === null) continue;
      const excess = most < step.peak_mps ? Math.min(step.ratio, most / step.allowed_mps) : step.ratio;
      if (excess <= 1) continue;
      findings.add(
        "contact-too-hard",
        "error",
        pathOf(result, step.step),
        `a blow of the tool in ${step.step} is too hard for the ${step.region} of ${name}: up to ${speed(Math.min(step.peak_mps, most))}, allowed down to ${speed(step.allowed_mps)} (by ${step.governs}, effective mass up to ${Math.max(step.effectiveMax_kg, step.simplified_kg).toFixed(1)} kg)`,
        "Slow the step (`millhand guard` tells what that costs), make the tool lighter or its surfaces larger, or keep the person away while it runs.",
        name,
      );
    }
  }
}

/** Where a step stands in the file. */
const pathOf = ({ motions }: GuardResult, id: string) => motions.steps.get(id)?.step.path ?? ["routines"];

function addMonitoring(cell: Cell, result: GuardResult, findings: FindingList): void {
  const { report } = result;
  const terms = cell.guarding?.monitoring;
  if (terms === undefined) return;
  const missing = report.monitoring[0]?.missing ?? [];
  if (missing.length > 0)
    findings.add(
      "monitoring-term-not-stated",
      "warning",
      [...GUARDING, "monitoring"],
      `${missing.join(", ")} ${missing.length === 1 ? "is" : "are"} not stated: the distances of speed and separation monitoring are larger than computed by as much`,
      "State all three from the data of sensor and arm.",
    );
  for (const entry of report.monitoring)
    if (entry.needed_m > entry.distance_m)
      findings.add(
        "monitored-distance-too-short",
        "warning",
        pathOf(result, entry.step),
        `with ${entry.person} at the place stated the arm comes within ${mm(entry.distance_m)} in ${entry.step}, ${mm(entry.needed_m)} are needed at its speed: the monitoring would stop it${entry.allowed_mps > 0 ? `; up to ${speed(entry.allowed_mps)} it could go on` : ""}`,
        "Slow the step, move the place, or let the step run only while nobody is there.",
        entry.person,
      );
}

/** A turning spindle that nothing has to be closed for. */
function addProcesses(cell: Cell, findings: FindingList): void {
  for (const machine of cell.machines.values()) {
    const barring = machine.devices.filter((device) => device.clamps === undefined && travelOf(device) > 0);
    const names = new Set(barring.map(({ name }) => name));
    for (const process of machine.processes) {
      if (!process.spindle || [...process.needs, ...process.before].some(({ device }) => names.has(device))) continue;
      findings.add(
        "process-not-barred",
        "warning",
        ["machines", machine.name, "processes", process.name.slice(machine.name.length + 1)],
        names.size === 0
          ? `${process.name} runs on a machine without a door or other moving guard in the file`
          : `${process.name} starts wherever ${[...names].join(" and ")} may stand`,
        "State what has to be closed under `needs`, and have it interlocked by the machine itself, not only by the arm's program.",
      );
    }
  }
}

function addRegister(cell: Cell, { report }: GuardResult, findings: FindingList): void {
  const known = new Set(report.hazards.map(({ id }) => id));
  for (const name of cell.guarding?.hazards?.keys() ?? [])
    if (!known.has(name))
      findings.add(
        "hazard-unknown",
        "warning",
        [...GUARDING, "hazards", name],
        `the register has no entry ${name}, so what is stated there has no effect`,
        `Name one of ${[...known].join(", ")}.`,
      );
  for (const [name, { covers }] of cell.guarding?.safetyFunctions ?? [])
    for (const id of covers)
      if (!known.has(id))
        findings.add(
          "hazard-unknown",
          "warning",
          [...GUARDING, "safety functions", name],
          `the register has no entry ${id}, which ${name} is said to cover`,
          `Name entries of ${[...known].join(", ")}.`,
          id,
        );
  const covered = new Set([...(cell.guarding?.safetyFunctions?.values() ?? [])].flatMap(({ covers }) => covers));
  if (covered.size === 0) return;
  const left = report.hazards.filter(({ id, risk }) => risk !== undefined && !covered.has(id)).map(({ id }) => id);
  if (left.length > 0)
    findings.add(
      "hazard-not-covered",
      "caution",
      [...GUARDING, "safety functions"],
      `no safety function is stated for ${left.join(", ")}`,
      "State one, or show in the risk assessment what else reduces the risk.",
    );
}

function addFunctions({ report }: GuardResult, findings: FindingList): void {
  for (const { name, required, achieved, missing, verdict, replace } of report.functions) {
    const path = [...GUARDING, "safety functions", name];
    if (verdict === "not reached")
      findings.add(
        "level-not-reached",
        "error",
        path,
        `${name} needs performance level ${required}, its data give ${achieved!.level} (MTTFd ${achieved!.mttfd.toFixed(1)} years, ${achieved!.mttfdBand}; DC ${(100 * achieved!.coverage).toFixed(1)} %, ${achieved!.coverageBand})`,
        "Take a higher category, better tested or longer-lived parts, or reduce the risk by other means.",
      );
    else if (verdict === "cannot be told")
      findings.add(
        "level-unknown",
        "warning",
        path,
        `whether ${name} reaches the performance level ${required ?? "that it needs"} cannot be told: ${missing.join("; ")}`,
        `State what is missing; a score of ${LEAST_COMMON_CAUSE} of 100 against common cause is the least.`,
      );
    for (const { part, years } of replace)
      findings.add(
        "part-wears-out",
        "caution",
        path,
        `${part} of ${name} is to be replaced after ${years.toFixed(1)} years (T10d), before the ${MISSION_YEARS} years in use end`,
        "Put it into the maintenance plan.",
        part,
      );
  }
}
