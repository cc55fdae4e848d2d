// Two sheets to print: the class's, with empty plots and lines to write on, and the teacher's, with
// the model's answers, the beliefs that are met, cautions and sources.

import {html, nothing, type TemplateResult} from "lit-html";
import {answered} from "./lesson";
import {drawn, type Plot} from "./plot";
import {STEPS, type Course} from "./steps";

export class Sheets {
  private data: unknown[] | null = null;
  private loading = false;
  private wrong = "";
  private asked = 0; // counts what was asked, so that late answers are told

  constructor(private readonly course: Course, private readonly draw: () => void) {}

  forget(): void {
    ++this.asked;
    this.data = null;
    this.loading = false;
    this.wrong = "";
  }

  private async open(): Promise<void> {
    if (this.data || this.loading || this.wrong) return;
    this.loading = true;
    const asked = ++this.asked;
    const data: unknown[] = [];
    let wrong = "";
    try {
      for (const step of STEPS) {
        data.push(await step.load(this.course));
        if (asked !== this.asked) return;
      }
    } catch (error) {
      wrong = error instanceof Error ? error.message : String(error);
    }
    if (asked !== this.asked) return;
    if (wrong) this.wrong = wrong;
    else this.data = data;
    this.loading = false;
    this.draw();
  }

  view(teacher: boolean): TemplateResult {
    void this.open();
    const {data} = this;
    return html`<article class="sheet">
      <h1>Why air is progressive: ${teacher ? "the teacher's sheet" : "the class's sheet"}</h1>
      ${teacher ? nothing : html`<p>Name: ____________________________  Date: ______________</p>`}
      <p class="no-print row"><button type="button" class="main" ?disabled=${!data} @click=${() => window.print()}>Print</button>
        <a href=${teacher ? "#sheet-class" : "#sheet-teacher"}>${teacher ? "the class's sheet" : "the teacher's sheet"}</a></p>
      ${teacher ? about() : html`<p>Draw or tick what you expect first. Then watch, and write one sentence that says why.</p>`}
      ${this.wrong ? html`<div class="message" role="alert"><p>The sheet can't be made: ${this.wrong}</p><button type="button" @click=${() => { this.forget(); this.draw(); }}>Try again</button></div>` : nothing}
      ${data ? STEPS.map((_, i) => this.one(i, data[i], teacher)) : this.wrong ? nothing : html`<p class="busy">The model is working…</p>`}
      ${teacher ? sources() : nothing}
    </article>`;
  }

  private one(index: number, data: unknown, teacher: boolean): TemplateResult {
    const step = STEPS[index];
    if (!step) return html``;
    const {predict} = step;
    const id = `sheet-${teacher ? "t" : "c"}-${index + 1}`;
    const renamed = (plot: Plot): Plot => ({...plot, id});
    return html`<section>
      <h2><span class="number">${index + 1}</span> ${step.title}</h2>
      <div class="pair"><div>${step.ask(data, this.course)}
        ${predict.by === "pick" ? html`<ul>${predict.options.map((option) => html`<li>☐ ${option}</li>`)}</ul>` : nothing}
        ${predict.by === "numbers" ? html`<ul>${predict.rows(data, this.course).map((row, i) => html`<li>${row.label}: ${teacher ? html`<strong>${(predict.answer(data, this.course)[i] ?? NaN).toFixed(1)}</strong>` : "________"} ${row.unit}</li>`)}</ul>` : nothing}
        ${teacher ? html`<p class="note">Belief: <q>${step.belief}</q></p>` : nothing}</div>
        <div>${predict.by === "draw" ? drawn(renamed(teacher ? answered(predict.pad(data), predict.answer(data), []) : predict.pad(data)), this.course.sizes) : nothing}</div></div>
      ${teacher ? html`${step.why(data, this.course)}<p><em>In class.</em> ${step.teach}</p>`
        : html`<p class="said">${step.prompt}</p><div class="writing"></div><div class="writing"></div>`}
    </section>`;
  }
}

function about(): TemplateResult {
  return html`<p>Each step has three parts: predict, observe, explain. Let everybody commit before anything is shown: a demonstration that is only watched teaches little more than none, one that is
    predicted first does [1, 2]. Pupils reach for the gas law or for heat where work explains it [4], and mix up what is held constant [3]. That they add where ratios count, and take pressure for something that only pushes outwards: common practice, no source.
    Ask for the sentence before the explanation, and read some aloud. With a projector choose “projector” at the top of the page. Any step opens by its address, as #step-4.</p>
    ${cautions()}`;
}

export function cautions(): TemplateResult {
  return html`<aside class="caution" aria-label="care"><p><strong>Care.</strong> Air springs are under pressure, and a fork that fails on the trail can hurt. Let all air out before you open a fork, never exceed the maker's
    pressure or spacer limit, follow the maker's manual for service and torque, and ask a qualified mechanic when in doubt. A prediction is no safety certificate. The forks and riders on this page are invented.</p></aside>`;
}

function sources(): TemplateResult {
  return html`<section><h2>Sources</h2>
    <p>Cited from memory, without having been looked up again for this page: check them before you cite them on.</p>
    <ol>
      <li>C. Crouch, A. P. Fagen, J. P. Callan, E. Mazur: Classroom demonstrations: learning tools or entertainment? American Journal of Physics 72 (2004), 835–838.</li>
      <li>K. Miller, N. Lasry, K. Chu, E. Mazur: Role of physics lecture demonstrations in conceptual learning. Physical Review Special Topics – Physics Education Research 9 (2013), 020113.</li>
      <li>C. H. Kautz, P. R. L. Heron, M. E. Loverude, L. C. McDermott: Student understanding of the ideal gas law, Part I: a macroscopic perspective. American Journal of Physics 73 (2005), 1055–1063.</li>
      <li>M. E. Loverude, C. H. Kautz, P. R. L. Heron: Student understanding of the first law of thermodynamics: relating work to the adiabatic compression of an ideal gas. American Journal of Physics 70 (2002), 137–148.</li>
    </ol></section>`;
}
