/** Style of the sheet: a drawing frame with a ruler, lettered zones and a title block. */
import { asProperties, DAY, NIGHT } from "./page-colors.ts";
import { sceneRules, sceneShape } from "./scene/scene-style.ts";
import { timingRules } from "./timing/timing-svg.ts";

export const PAGE_STYLE = `
:root{${asProperties(DAY)};color-scheme:light;
--sans:"Segoe UI",system-ui,-apple-system,"Noto Sans","DejaVu Sans",sans-serif;
--mono:ui-monospace,"SF Mono","Cascadia Mono","DejaVu Sans Mono",Menlo,Consolas,monospace}
@media screen and (prefers-color-scheme:dark){:root:not(.on-paper){${asProperties(NIGHT)};color-scheme:dark}}
*{box-sizing:border-box}
html{background:var(--paper)}
body{margin:0;color:var(--ink);background:var(--paper);font:15px/1.5 var(--sans)}
.sheet{max-width:1240px;margin:20px auto;border:1px solid var(--ink);padding:0 0 0 34px;position:relative;background:var(--panel)}
.ruler{height:22px;margin-left:-34px;border-bottom:1px solid var(--ink);display:flex;font:11px/22px var(--mono);color:var(--muted);
background:repeating-linear-gradient(90deg,var(--line) 0 1px,transparent 1px 1.25%) bottom/100% 5px no-repeat,var(--paper)}
.ruler span{flex:1;text-align:center;border-left:1px solid var(--ink)}
.ruler span:first-child{border-left:0}
.sheet::before{content:"";position:absolute;left:0;top:0;bottom:0;width:34px;border-right:1px solid var(--ink);
background:repeating-linear-gradient(180deg,var(--line) 0 1px,transparent 1px 12px) right/5px 100% no-repeat,var(--paper)}
.ruler,section,header,footer{position:relative}
header{display:grid;grid-template-columns:1fr minmax(340px,44%);border-bottom:1px solid var(--ink)}
.verdict{padding:22px 26px}
.verdict p{margin:0}
.stamp{display:inline-block;border:2px solid currentColor;padding:2px 12px;font:700 15px/1.5 var(--mono);letter-spacing:.08em;text-transform:uppercase}
.stamp.good{color:var(--good)}.stamp.bad{color:var(--error)}
h1{font-size:30px;line-height:1.2;margin:12px 0 8px;font-weight:600;overflow-wrap:anywhere}
.lead{font-size:17px;max-width:58ch}
.title-block{margin:0;border-left:1px solid var(--ink);display:grid;grid-template-columns:1fr 1fr;align-content:stretch}
.title-block div{padding:7px 12px 8px;border-bottom:1px solid var(--line);min-width:0}
.title-block div:nth-child(odd){border-right:1px solid var(--line)}
.title-block .wide{grid-column:1/-1;border-right:0}
.title-block div:nth-last-child(-n+2){border-bottom:0}
dt{font:11px/1.4 var(--mono);color:var(--muted)}
dd{margin:0;overflow-wrap:anywhere}
section{padding:20px 26px 24px;border-bottom:1px solid var(--ink)}
section>h2{font-size:19px;line-height:1.3;font-weight:600;margin:0 0 12px}
section>h2 .zone{position:absolute;left:-34px;width:28px;text-align:center;font:700 15px/25px var(--mono);color:var(--accent)}
h3{font-size:15px;margin:20px 0 6px;font-weight:600}
p.note{color:var(--muted);margin:4px 0 10px;max-width:80ch}
table{border-collapse:collapse;width:100%;font-size:14px;font-variant-numeric:tabular-nums}
.scroll{overflow-x:auto}
caption{text-align:left;color:var(--muted);padding-bottom:4px}
th,td{text-align:left;padding:4px 18px 4px 0;border-bottom:1px solid var(--line);vertical-align:top}
thead th{border-bottom:1px solid var(--ink);font-weight:600;white-space:nowrap}
tbody th{font-weight:400}
td.n,th.n{text-align:right;font-family:var(--mono);font-size:13px;white-space:nowrap}
thead th.n{font-family:var(--sans);font-size:14px}
tr:last-child>*{border-bottom:0}
tr>:last-child{padding-right:0}
table .id{white-space:nowrap}
code,.id{font-family:var(--mono);font-size:13px;overflow-wrap:anywhere}
.muted{color:var(--muted)}.good{color:var(--good)}.error{color:var(--error)}.warning{color:var(--warning)}.caution{color:var(--accent)}
.critical-word{color:var(--critical);font-weight:600}
.dimensions{margin:6px 0 16px;display:grid;row-gap:4px}
.dimension{display:grid;grid-template-columns:max(150px,15%) 1fr;align-items:center}
.dimension .track{position:relative;height:30px}
.dimension .span{position:absolute;top:0;height:30px;border:solid var(--ink);border-width:0 1px;display:flex;align-items:center;min-width:2px}
.dimension .span::before,.dimension .span::after{content:"";flex:1;height:1px;background:var(--ink)}
.dimension .arrow{position:absolute;top:11px;width:0;height:0;border:4px solid transparent}
.dimension .arrow.l{left:0;border-right:8px solid var(--ink);border-left:0}
.dimension .arrow.r{right:0;border-left:8px solid var(--ink);border-right:0}
.dimension b{padding:0 8px;font:600 14px/1 var(--mono);white-space:nowrap;background:var(--panel)}
.dimension .short::before,.dimension .short::after,.dimension .short .arrow{display:none}
.dimension .short{background:var(--ink)}
.dimension .short b{position:absolute;left:100%;background:none}
.dimension .short.left b{left:auto;right:100%}
.figures{display:grid;grid-template-columns:repeat(auto-fit,minmax(165px,1fr));gap:0 22px;margin:0}
.figures div{border-top:1px solid var(--line);padding:8px 0}
.figures dd{font:600 17px/1.4 var(--mono)}
.figures dd small{font:400 13px/1.4 var(--sans);color:var(--muted);display:block}
.finding{border-left:4px solid currentColor;padding:2px 0 2px 14px;margin:0 0 14px}
.finding>*{color:var(--ink);margin:0}
.finding .head{display:flex;flex-wrap:wrap;gap:0 16px;align-items:baseline}
.finding .head .code{font-weight:700}
.finding.error .code{color:var(--error)}.finding.warning .code{color:var(--warning)}.finding.caution .code{color:var(--accent)}
.finding .mend{color:var(--ink)}
.finding .mend b{font-weight:600}
.chart{display:grid;grid-template-columns:minmax(90px,max-content) 1fr;column-gap:10px;margin:6px 0 4px}
.chart .lanes{font:13px/26px var(--mono);white-space:nowrap;padding-top:24px;max-width:200px}
.chart .lanes div{overflow:hidden;text-overflow:ellipsis}
.chart svg{display:block;width:100%;overflow:hidden}
.chart .thin .lanes{line-height:16px}
.chart text{font:12px var(--mono);fill:var(--muted)}
.chart .grid{stroke:var(--line)}
.chart .base{stroke:var(--line)}
.chart .break{fill:var(--line);opacity:.35}
.bar rect{fill:var(--bar);stroke:var(--panel)}
.bar text{fill:var(--barInk)!important;font:12px var(--sans)!important}
.bar.wait rect{fill:url(#hatch);stroke:var(--muted);stroke-dasharray:3 2}
.bar.wait text{fill:var(--ink)!important;paint-order:stroke;stroke:var(--panel);stroke-width:4px;stroke-linejoin:round}
.bar.critical rect{fill:var(--critical)}
.bar.critical text{fill:var(--criticalInk)!important}
.bar.critical.wait rect{fill:url(#hatch-critical);stroke:var(--critical)}
.bar.critical.wait text{fill:var(--ink)!important}
.bar:hover rect{stroke:var(--ink)}
.link{stroke:var(--critical);stroke-width:2;stroke-dasharray:2 2}
.whole .off{fill:var(--muted)}.whole .on{fill:var(--critical)}
.hatch-line{stroke:var(--muted)}.hatch-line.on{stroke:var(--critical)}
.key{display:flex;flex-wrap:wrap;gap:4px 22px;font-size:13px;color:var(--muted);margin:6px 0 12px}
.key i{display:inline-block;width:26px;height:12px;margin-right:7px;vertical-align:-1px;border:1px solid var(--panel)}
.key .k-bar{background:var(--bar)}
.key .k-critical{background:var(--critical)}
.key .k-break{background:var(--line);opacity:.5}
.key .k-wait{border:1px dashed var(--muted);background:repeating-linear-gradient(135deg,var(--muted) 0 1px,transparent 1px 5px)}
details{margin:10px 0 0}
summary{cursor:pointer;color:var(--accent)}
:focus-visible{outline:2px solid var(--accent);outline-offset:2px}
.plots{display:grid;grid-template-columns:1fr 1fr 1fr;gap:14px 18px}
.plots .col{font-weight:600;border-bottom:1px solid var(--ink)}
.plots .joint{grid-column:1/-1;font-weight:600;margin-bottom:-10px;display:flex;gap:14px;flex-wrap:wrap;align-items:baseline}
.plots .joint small{font-weight:400;color:var(--muted)}
.plot{min-width:0;position:relative;min-height:124px}
.plot .at{position:absolute;right:6px;top:1px;font:12px/1.3 var(--mono);background:var(--panel);color:var(--ink);padding:0 3px;z-index:2;pointer-events:none}
.uplot{font-family:var(--mono)}
.uplot .u-cursor-x{border-right:1px dashed var(--muted)}
.views{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,430px),1fr));gap:14px;margin:14px 0 18px}
.views svg{width:100%;height:auto;border:1px solid var(--line);display:block;background:var(--panel)}
.views figcaption{grid-column:1/-1;align-self:start}
.views figcaption.beside{grid-column:auto}
.views figcaption p{margin:0 0 8px}
td.when{min-width:210px}
.ball-key{display:inline-block;box-sizing:border-box;width:20px!important;height:20px!important;border:1.2px solid var(--ink)!important;border-radius:50%;text-align:center;font:700 12px/17px var(--sans);color:var(--ink);vertical-align:-4px!important}
.timing-frame{overflow-x:auto;margin:8px 0 18px}.timing-frame svg{display:block;width:100%;min-width:740px;height:auto;font-family:var(--sans)}
${timingRules}
${sceneShape(".views", "var(--sans)")}${sceneRules(".views", "day")}
@media screen and (prefers-color-scheme:dark){
${sceneRules(":root:not(.on-paper) .views", "night")}}
@media (max-width:620px){.views text{font-size:17px}.views .gap-word{font-size:19px}}
footer{padding:14px 26px 18px;color:var(--muted)}
footer p{margin:0;max-width:90ch}
@media (max-width:900px){
body{font-size:14.5px}
.sheet{margin:0;border-width:0 0 1px;padding-left:26px}
.ruler{margin-left:-26px}.sheet::before{width:26px}
section>h2 .zone{left:-26px;width:22px}
header{grid-template-columns:1fr minmax(280px,42%)}
.verdict,section,footer{padding-left:18px;padding-right:18px}
h1{font-size:25px}
.plots{gap:12px 10px}
table{font-size:13px}th,td{padding-right:10px}thead th.n{font-size:13px}td.n,.id{font-size:12.5px}
}
@media (max-width:620px){header{grid-template-columns:1fr}.title-block{border-left:0;border-top:1px solid var(--ink)}.plots{grid-template-columns:1fr}.plots .col{display:none}}
@page{size:A4;margin:12mm}
@media print{
html,body{background:#fff;font-size:10.5pt}
*{print-color-adjust:exact;-webkit-print-color-adjust:exact}
.sheet{margin:0;max-width:none;padding-left:26px;background:#fff}
.ruler{margin-left:-26px}.sheet::before{width:26px}
section>h2 .zone{left:-26px;width:22px}
.scroll{overflow:visible}
.views{grid-template-columns:1fr 1fr}
table{font-size:9pt}th,td{padding-right:7px}td.n,th.n,thead th.n{font-size:8.5pt}
section>h2,h3,thead{break-after:avoid}
tr,.finding,.chart,.plot,.dimension,.views svg{break-inside:avoid}
details{display:none}
}
`;
