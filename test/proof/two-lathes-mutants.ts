/**
 * The two-lathes demo, in part: a part is put into its first lathe and the arm leaves: two grippers fed back at both ends, a chuck on a pair of outputs
 * (0.6 to 0.9 s, fed back, its axis level, so that a part falls out of it), a door up to 2.7 s, scan 10 ms.
 */
import {
  atOnce,
  dangerous,
  freesAboveThePlace,
  harmless,
  type MutantTable,
  neverComes,
  nobodyListens,
  orderFault,
  passedOnTheWay,
  patient,
  tooImpatient,
} from "./mutant-table.ts";

const doorAgainstArm = dangerous("the door moves through the doorway while the arm is in it", "zone-shared");
const tornOut = dangerous("the arm pulls while chuck and jaws both still hold the part", "moved-while-both-hold");
const chuckStillClosing = dangerous("the jaws let go before the chuck has clamped", "freed-before-clamped");
const standsAnyway = harmless("the chuck is open already: from the start, then by the taking out");
const neitherOutput = harmless("with neither output on the chuck stays where it is");
const bothOutputs = orderFault(
  "with both outputs on the chuck does not move, and the wait ends in a stop",
  "limit-passed",
);

export const SERVED_ROUTINES = ["put-in-1", "leave-1"];

export const TWO_LATHES_MUTANTS: MutantTable = {
  "without put-in-1[0]": standsAnyway,
  "put-in-1[0] and put-in-1[1] exchanged": standsAnyway,
  "without put-in-1[1]": standsAnyway,
  "put-in-1[1] and put-in-1[2] exchanged": standsAnyway,
  "without put-in-1[2]": passedOnTheWay,
  "put-in-1[2] and put-in-1[3] exchanged": standsAnyway,
  "without put-in-1[3]": standsAnyway,
  "put-in-1[3] limited to 1.5 s": patient,
  "put-in-1[3] limited to 0.89 s": standsAnyway,
  "put-in-1[3] and put-in-1[4] exchanged": standsAnyway,
  "without put-in-1[4]": freesAboveThePlace,
  "put-in-1[4] and put-in-1[5] exchanged": harmless(
    "the press meets nothing; the part is clamped 2 mm before the stop",
  ),
  "without put-in-1[5]": harmless("the part is clamped 2 mm before the stop: not seated, but held"),
  "put-in-1[5] and put-in-1[6] exchanged": neitherOutput,
  "without put-in-1[6]": bothOutputs,
  "put-in-1[6] and put-in-1[7] exchanged": atOnce,
  "without put-in-1[7]": neverComes,
  "put-in-1[7] and put-in-1[8] exchanged": neverComes,
  "without put-in-1[8]": chuckStillClosing,
  "put-in-1[8] limited to 1.5 s": patient,
  "put-in-1[8] limited to 0.89 s": tooImpatient,
  "put-in-1[8] and put-in-1[9] exchanged": chuckStillClosing,
  "without put-in-1[9]": tornOut,
  "put-in-1[9] and put-in-1[10] exchanged": tornOut,
  "without put-in-1[10]": passedOnTheWay,

  "without leave-1[0]": doorAgainstArm,
  "leave-1[0] and leave-1[1] exchanged": doorAgainstArm,
  "without leave-1[1]": neverComes,
  "leave-1[1] and leave-1[2] exchanged": nobodyListens,
  "without leave-1[2]": nobodyListens,
};
