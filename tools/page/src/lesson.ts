// The lesson: its list of steps, and one step at a time: predict, observe, explain. A prediction is
// made before anything is shown, and stays beside the answer as a ghost.

import {html, nothing, type TemplateResult} from "lit-html";
import {along, drawn, tell, type Plot, type Point} from "./plot";
import {roomAddress} from "./setup";
import {slider} from "./slider";
import {STEPS, type Course, type Step} from "./steps";

interface Progress {
  data: unknown; // null: not yet loaded
  loading: boolean;
  wrong: string;
  sketch: (number | null)[];
  pick: number | null;
  numbers: number[] | null;
  touched: boolean;
  committed: boolean;
  said: string;
  explained: boolean;
}

const LEAST_SAID = 12; // letters of a sentence

function fresh(): Progress {
  return {
    data: null, loading: false, wrong: "", sketch: [], pick: null, numbers: null, touched: false, committed: false,
    said: "", explained: false,
  };
}

export class Lesson {
  private progress = STEPS.map(fresh);

  constructor(private readonly course: Course, private readonly draw: () => void) {}

  // Data depend on the unit of pressure and are asked for again; predictions stay what they were.
  otherUnit(from: string, to: string): void {
    const {units} = this.course;
    this.progress = this.progress.map((was, i) => {
      const predict = STEPS[i]?.predict;
      const pressure = predict !== undefined && predict.by !== "pick" && predict.pressure;
      const said = (value: number) => pressure ? units.say(units.si(value, from), to) : value;
      return {
        ...was, data: null, loading: false, wrong: "", numbers: was.numbers && was.touched ? was.numbers.map(said) : null,
        sketch: Array.from(was.sketch, (value) => value === null || value === undefined ? null : said(value)),
      };
    });
  }

  contents(): TemplateResult {
    return html`<h1>Why air is progressive</h1>
      <p>Ten short steps. In each you first say what you expect: draw it or pick it, and commit. Then the model answers, and you say why. Every number on this page comes from plunge's model as it runs, here in the page.</p>
      <ol class="steps">${STEPS.map((step, i) => html`<li><a href=${`#step-${i + 1}`}><span class="number">${i + 1}</span> ${step.title}${this.progress[i]?.explained ? html` <span class="stage-of">done</span>` : nothing}</a></li>`)}</ol>
      <p class="no-print"><a href="#step-1">Begin with the first step</a>, or go to <a href="#room">the free room</a>. For the classroom: <a href="#sheet-class">a sheet for the class</a> and <a href="#sheet-teacher">one for the teacher</a>, both to print.</p>`;
  }

  private async open(index: number): Promise<void> {
    const step = STEPS[index];
    const mine = this.progress[index];
    if (!step || !mine || mine.data !== null || mine.loading || mine.wrong) return;
    mine.loading = true;
    try {
      mine.data = await step.load(this.course);
    } catch (error) {
      mine.wrong = error instanceof Error ? error.message : String(error);
    }
    mine.loading = false;
    this.draw();
  }

  view(index: number): TemplateResult {
    const step = STEPS[index];
    const mine = this.progress[index];
    if (!step || !mine) return this.contents();
    void this.open(index);
    return html`<article class="step">
      <header><p class="stage-of">step ${index + 1} of ${STEPS.length}</p><h1><span class="number">${index + 1}</span> ${step.title}</h1></header>
      ${mine.wrong ? html`<div class="message" role="alert"><p>This step can't be shown: ${mine.wrong}</p><button type="button" @click=${() => { mine.wrong = ""; this.draw(); }}>Try again</button></div>`
        : mine.data === null ? html`<p class="busy" aria-live="polite">The model is working…</p>`
          : html`<div class="ask">${this.asked(step, mine)}</div><div class="board">${this.board(step, mine)}</div><div class="told">${this.told(step, mine)}</div>`}
    </article>
    <nav class="move" aria-label="steps">
      ${index > 0 ? html`<a href=${`#step-${index}`}>← ${STEPS[index - 1]?.title}</a>` : html`<a href="#lesson">← all steps</a>`}
      ${index + 1 < STEPS.length ? html`<a href=${`#step-${index + 2}`}>${STEPS[index + 1]?.title} →</a>` : html`<a href="#room">to the free room →</a>`}
    </nav>`;
  }

  private asked(step: Step, mine: Progress): TemplateResult {
    return html`<section class="part"><span class="stage-of">predict</span>
      ${step.ask(mine.data, this.course)}
      ${this.prediction(step, mine)}
    </section>`;
  }

  private told(step: Step, mine: Progress): TemplateResult {
    const {data} = mine;
    return html`${mine.committed ? html`<section class="part" aria-live="polite"><span class="stage-of">observe</span>${this.verdict(step, mine)}</section>
        <section class="part"><span class="stage-of">explain</span>
          <p><label for="why">${step.prompt} One sentence is enough.</label></p>
          <textarea id="why" maxlength="600" .value=${mine.said} ?readonly=${mine.explained} @input=${(e: Event) => { mine.said = (e.target as HTMLTextAreaElement).value; this.draw(); }}></textarea>
          ${mine.explained ? nothing : html`<p><button type="button" class="main" ?disabled=${mine.said.trim().length < LEAST_SAID} @click=${() => { mine.explained = true; this.draw(); focusOn("because"); }}>Compare with the explanation</button></p>`}
          ${mine.explained ? html`<div id="because" tabindex="-1" aria-live="polite">${step.why(data, this.course)}
            <p class="note">The belief that this step meets: <q>${step.belief}</q></p></div>` : nothing}
        </section>
        <p class="row no-print">${step.room ? html`<a href=${roomAddress(step.room(data, this.course))}>Go on with this in the free room</a>` : nothing}
          <button type="button" @click=${() => this.again(step, mine)}>Predict again</button></p>` : nothing}`;
  }

  private again(step: Step, mine: Progress): void {
    Object.assign(mine, {...fresh(), data: mine.data});
    step.anew?.();
    this.draw();
    focusOn("main");
  }

  private commit(mine: Progress, ready: boolean, hint: string): TemplateResult {
    return mine.committed ? html`${nothing}` : html`<p class="row">
      <button type="button" class="main" ?disabled=${!ready} @click=${() => { mine.committed = true; this.draw(); focusOn("why"); }}>Commit to this</button>
      ${ready ? nothing : html`<span class="small">${hint}</span>`}</p>`;
  }

  private prediction(step: Step, mine: Progress): TemplateResult {
    const {predict} = step;
    const commit = (ready: boolean, hint: string) => this.commit(mine, ready, hint);
    if (predict.by === "draw") {
      const set = mine.sketch.filter((v) => v !== null && v !== undefined).length;
      return html`${mine.committed ? nothing : html`<p class="small">Draw into the plot with mouse, finger or pen. With the keyboard: Tab goes from point to point, the arrow keys up and down move it.
        ${set > 0 ? html`<button type="button" @click=${() => { mine.sketch = []; this.draw(); }}>Rub out</button>` : nothing}</p>`}
        `;
    }
    if (predict.by === "pick") {
      const right = predict.right(mine.data);
      return html`<fieldset><legend class="visually-hidden">your prediction</legend>${predict.options.map((option, i) => html`
        <label class=${`choice ${mine.committed && i === right ? "right" : ""}`}><input type="radio" name="pick" .checked=${mine.pick === i} ?disabled=${mine.committed} @change=${() => { mine.pick = i; this.draw(); }}>
        <span>${option}${mine.committed && i === mine.pick ? html` <span class="stage-of">your prediction</span>` : nothing}${mine.committed && i === right ? html` <span class="stage-of">the model</span>` : nothing}</span></label>`)}</fieldset>
        ${commit(mine.pick !== null, "choose one first")}`;
    }
    const rows = predict.rows(mine.data, this.course);
    mine.numbers ??= rows.map((row) => row.start);
    const numbers = mine.numbers;
    const sum = numbers.reduce((total, v) => total + v, 0);
    return html`${mine.committed ? nothing : rows.map((row, i) => slider({
      id: `n-${i}`, label: row.label, low: row.low, high: row.high, step: row.step, value: numbers[i] ?? row.start,
      say: (v) => predict.share && sum > 0 ? `${tell(v / sum * 100, 0)} % of all` : `${tell(v, row.step < 1 ? 1 : 0)} ${row.unit}`,
      to: (v) => { numbers[i] = v; mine.touched = true; this.draw(); },
    }))}
    ${commit(mine.touched && sum > 0, "move what you expect first")}`;
  }

  private verdict(step: Step, mine: Progress): TemplateResult {
    const {predict} = step;
    const {data} = mine;
    if (predict.by === "pick") {
      const right = predict.right(data);
      return html`<p>${mine.pick === right ? "As you predicted: " : "The model says otherwise: "}${predict.options[right]}.</p>`;
    }
    if (predict.by === "numbers") {
      const answers = predict.answer(data, this.course);
      const rows = predict.rows(data, this.course);
      const sum = (mine.numbers ?? []).reduce((total, v) => total + v, 0);
      return html`<div class="scroll" tabindex="0" role="region" aria-label="your numbers and the model's"><table><thead><tr><th scope="col"></th><th scope="col">you</th><th scope="col" class="a">the model</th></tr></thead>
        <tbody>${rows.map((row, i) => html`<tr><th scope="row">${row.label}</th><td>${tell(predict.share ? (mine.numbers?.[i] ?? 0) / sum * 100 : mine.numbers?.[i] ?? NaN, row.unit === "bar" ? 1 : 0)} ${row.unit}</td>
          <td class="a">${tell(answers[i] ?? NaN, row.unit === "bar" ? 2 : row.unit === "psi" ? 1 : 0)} ${row.unit}</td></tr>`)}</tbody></table></div>`;
    }
    const at = predict.at(data);
    const answer = predict.answer(data);
    const places = [at[0], at[Math.floor(at.length / 2)], at[at.length - 1]].filter((x): x is number => x !== undefined);
    const guess = drawnPoints(at, mine.sketch);
    return html`<p>Your curve stays as a broken grey line. Read off at three places:</p>
      <div class="scroll" tabindex="0" role="region" aria-label="your curve and the model's"><table><thead><tr><th scope="col">at</th><th scope="col">you</th><th scope="col" class="a">the model</th></tr></thead>
      <tbody>${places.map((x) => html`<tr><th scope="row">${predict.sayX(x)}</th><td>${predict.sayY(along(guess, x))}</td><td class="a">${predict.sayY(along(answer, x))}</td></tr>`)}</tbody></table></div>`;
  }

  private board(step: Step, mine: Progress): TemplateResult {
    const {predict} = step;
    const {data} = mine;
    const shown = mine.committed && step.observe ? step.observe(data, this.course) : nothing;
    if (predict.by !== "draw") {
      if (mine.committed) return html`${shown}`;
      return html`<p class="note">The answer appears here once you have committed.</p>`;
    }
    const at = predict.at(data);
    const pad = predict.pad(data);
    if (!mine.committed) {
      const set = mine.sketch.filter((v) => v !== null && v !== undefined).length;
      return html`${drawn({
        ...pad, sketch: {
          at, values: at.map((_, i) => mine.sketch[i] ?? null), sayX: predict.sayX, sayY: predict.sayY,
          set: (i, value) => { mine.sketch[i] = value; this.draw(); },
        },
      }, this.course.sizes)}${this.commit(mine, set >= at.length, set === 0 ? "draw the whole curve first" : "draw it from one end to the other")}`;
    }
    return html`${drawn(answered(pad, predict.answer(data), drawnPoints(at, mine.sketch)), this.course.sizes)}${shown}`;
  }
}

// The button that was pressed goes: the focus moves to what comes next, once that is drawn.
function focusOn(id: string): void {
  requestAnimationFrame(() => document.getElementById(id)?.focus({preventScroll: true}));
}

function drawnPoints(at: readonly number[], sketch: readonly (number | null | undefined)[]): Point[] {
  return at.flatMap((x, i) => {
    const y = sketch[i];
    return y === null || y === undefined ? [] : [[x, y] as Point];
  });
}

// The pad with the model's answer on it, and the ghost of what was drawn.
export function answered(pad: Plot, answer: readonly Point[], guess: readonly Point[]): Plot {
  return {...pad, lines: [...pad.lines, {points: answer, look: "a", name: "the model"}], ghost: guess};
}
