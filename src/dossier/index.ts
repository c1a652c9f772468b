/** Dossier floor: documents made from results. Pure: results in, text out. */
export { renderCheckPage } from "./check-page.ts";
export { type MapPictureOptions, renderMapSvg } from "./map/map-picture.ts";
export { momentWords, picturedSteps } from "./page-clearance.ts";
export type { CheckPageData, PageActivity, PageChart, PageJoint, PagePicture, PageSeries } from "./page-data.ts";
export {
  type GatheredFault,
  type GatheredViolation,
  gatheredFaults,
  gatheredViolations,
  PROOF_CAUTIONS,
} from "./proof-words.ts";
export { CAUSE_WORDS, type CardsPageData, renderRecoveryCards, verdictWords } from "./recovery/cards-page.ts";
export { chartOfRun, seriesOfRun } from "./run-data.ts";
export { renderSceneSvg, type SheetOptions } from "./scene/scene-svg.ts";
export { description } from "./scene/view-picture.ts";
export {
  type DiagramGroup,
  type DiagramLane,
  type DiagramSpan,
  type TimingDiagram,
  timingDiagram,
} from "./timing/diagram.ts";
export { renderTimingSvg } from "./timing/timing-svg.ts";
export { renderTornadoSvg, type TornadoWords } from "./tornado/tornado-svg.ts";
export { renderWiringSheets, type WiringSheetOptions } from "./wiring/wiring-sheets.ts";
