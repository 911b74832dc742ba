// Heat in one dimension below an insulated surface: implicit finite volumes on enthalpy; see
// api/dose/heat_model.py. The same two stages of each step, each by elimination of a tridiagonal
// system where the server multiplies by a matrix it has worked out before.
import { number } from "./constants";

const GAMMA = 1 - 1 / Math.sqrt(2);

/** Tissue in SI units; heats are of a volume and count from the body's temperature. */
export interface Medium {
  conductivity_w_m_k: number;
  heat_capacity_j_m3_k: number;
  absorption_per_m: number;
  boiling_heat_j_m3: number;
  dry_heat_j_m3: number;
  removal_heat_j_m3: number;
}

/** Sizes of the cells from the surface down: even at first, then growing. */
export function cellSizes(absorption_per_m: number, reach_m: number): number[] {
  let size = 1 / (number("HEAT_CELLS_PER_DEPTH") * absorption_per_m);
  const sizes: number[] = Array<number>(number("HEAT_UNIFORM_CELLS")).fill(size);
  let depth = size * sizes.length;
  while (depth < reach_m) {
    size *= number("HEAT_GROWTH");
    sizes.push(size);
    depth += size;
  }
  return sizes;
}

/** The elimination of (1 - gamma dt A), worked out once for each length of step. */
interface Elimination {
  upper: Float64Array;
  pivot: Float64Array;
  lower: Float64Array;
}

/** The state of the tissue: enthalpy and damage of each cell, counted from the surface. */
export class Heat {
  readonly edges_m: Float64Array;
  rise_k: Float64Array;
  damage: Float64Array;
  removed_m = 0;
  private enthalpy: Float64Array;
  private damageRate: Float64Array;
  private absorbed_j_m2 = 0;
  private readonly sizes: Float64Array;
  private readonly warming: Float64Array;
  private readonly above: Float64Array;
  private readonly below: Float64Array;
  private readonly eliminations = new Map<number, Elimination>();

  constructor(readonly medium: Medium, sizes_m: readonly number[]) {
    const count = sizes_m.length;
    this.sizes = Float64Array.from(sizes_m);
    this.edges_m = new Float64Array(count + 1);
    for (let i = 0; i < count; i += 1) this.edges_m[i + 1] = this.edges_m[i]! + this.sizes[i]!;
    this.enthalpy = new Float64Array(count);
    this.rise_k = new Float64Array(count);
    this.damage = new Float64Array(count);
    this.damageRate = this.rates();
    this.warming = new Float64Array(count);
    this.above = new Float64Array(count);
    this.below = new Float64Array(count);
    for (let i = 0; i < count; i += 1) {
      const heat = this.sizes[i]! * medium.heat_capacity_j_m3_k;
      // What passes the last cell is absorbed in it.
      const out = i + 1 < count ? this.left(i + 1) : 0;
      this.warming[i] = (this.left(i) - out) / heat;
      if (i > 0) this.above[i] = this.across(i - 1) / heat;
      if (i + 1 < count) this.below[i] = this.across(i) / heat;
    }
  }

  /** The part of the beam that is left at an edge. */
  private left(edge: number): number {
    return Math.exp(-this.medium.absorption_per_m * this.edges_m[edge]!);
  }

  /** Conductance between the middles of a cell and the next. */
  private across(cell: number): number {
    return this.medium.conductivity_w_m_k / ((this.sizes[cell]! + this.sizes[cell + 1]!) / 2);
  }

  private elimination(step_s: number): Elimination {
    let found = this.eliminations.get(step_s);
    if (found === undefined) {
      const count = this.sizes.length;
      const upper = new Float64Array(count);
      const pivot = new Float64Array(count);
      const lower = new Float64Array(count);
      const part = GAMMA * step_s;
      for (let i = 0; i < count; i += 1) {
        lower[i] = -part * this.above[i]!;
        const middle = 1 + part * (this.above[i]! + this.below[i]!);
        pivot[i] = 1 / (i > 0 ? middle - lower[i]! * upper[i - 1]! : middle);
        upper[i] = -part * this.below[i]! * pivot[i]!;
      }
      found = { upper, pivot, lower };
      this.eliminations.set(step_s, found);
    }
    return found;
  }

  /** One stage: the slope (1 - gamma dt A)^-1 (A rise + irradiance warming). */
  private slope(rise: Float64Array, irradiance: number, { upper, pivot, lower }: Elimination): Float64Array {
    const last = rise.length - 1;
    const slope = new Float64Array(last + 1);
    let before = 0;
    for (let i = 0; i <= last; i += 1) {
      const here = rise[i]!;
      let value = irradiance * this.warming[i]!;
      if (i > 0) value += this.above[i]! * (rise[i - 1]! - here);
      if (i < last) value += this.below[i]! * (rise[i + 1]! - here);
      before = (value - lower[i]! * before) * pivot[i]!;
      slope[i] = before;
    }
    for (let i = last - 1; i >= 0; i -= 1) slope[i] = slope[i]! - upper[i]! * slope[i + 1]!;
    return slope;
  }

  /** Go on by one step under an even irradiance. */
  step(step_s: number, irradiance_w_m2: number): void {
    const elimination = this.elimination(step_s);
    const { rise_k: rise, enthalpy } = this;
    const count = rise.length;
    const first = this.slope(rise, irradiance_w_m2, elimination);
    const between = new Float64Array(count);
    const part = (1 - GAMMA) * step_s;
    for (let i = 0; i < count; i += 1) between[i] = rise[i]! + part * first[i]!;
    const second = this.slope(between, irradiance_w_m2, elimination);
    const heat = this.medium.heat_capacity_j_m3_k * step_s;
    for (let i = 0; i < count; i += 1) {
      enthalpy[i] = enthalpy[i]! + heat * ((1 - GAMMA) * first[i]! + GAMMA * second[i]!);
    }
    this.absorbed_j_m2 += irradiance_w_m2 * step_s;
    if (enthalpy[0]! >= this.medium.removal_heat_j_m3) this.remove();
    this.rise_k = this.rises();
    const rate = this.rates();
    for (let i = 0; i < count; i += 1) {
      this.damage[i] = this.damage[i]! + step_s / 2 * (this.damageRate[i]! + rate[i]!);
    }
    this.damageRate = rate;
  }

  /** Take cells off the surface that hold the heat of ablation; shift what is left. */
  private remove(): void {
    const limit = this.medium.removal_heat_j_m3;
    const heat = this.enthalpy.map((value, i) => value * this.sizes[i]!);
    let count = 0;
    let excess = 0;
    while (count < heat.length && heat[count]! + excess >= limit * this.sizes[count]!) {
      excess += heat[count]! - limit * this.sizes[count]!;
      heat[count] = 0;
      count += 1;
    }
    if (count < heat.length) heat[count] = heat[count]! + excess;
    const shift = this.edges_m[count]!;
    this.removed_m += shift;
    const amounts = (values: Float64Array): Float64Array =>
      values.map((value, i) => value * this.sizes[i]!);
    this.enthalpy = this.shifted(heat, shift);
    this.damage = this.shifted(amounts(this.damage), shift);
    this.damageRate = this.shifted(amounts(this.damageRate), shift);
  }

  /** The mean of an amount in the cells after a shift, nothing lying below the old ones. */
  private shifted(amounts: Float64Array, shift_m: number): Float64Array {
    const count = amounts.length;
    const { edges_m: edges } = this;
    const sums = new Float64Array(count + 1);
    for (let i = 0; i < count; i += 1) sums[i + 1] = sums[i]! + amounts[i]!;
    let cell = 0;
    const at = (depth: number): number => {
      if (depth >= edges[count]!) return sums[count]!;
      while (edges[cell + 1]! < depth) cell += 1;
      const part = (depth - edges[cell]!) / (edges[cell + 1]! - edges[cell]!);
      return sums[cell]! + part * (sums[cell + 1]! - sums[cell]!);
    };
    const values = new Float64Array(count);
    let before = at(shift_m);
    for (let i = 0; i < count; i += 1) {
      const next = at(edges[i + 1]! + shift_m);
      values[i] = (next - before) / this.sizes[i]!;
      before = next;
    }
    return values;
  }

  private rises(): Float64Array {
    const { boiling_heat_j_m3, dry_heat_j_m3, heat_capacity_j_m3_k } = this.medium;
    return this.enthalpy.map((heat) => {
      const wet = Math.min(heat, boiling_heat_j_m3);
      return (wet + Math.max(heat - dry_heat_j_m3, 0)) / heat_capacity_j_m3_k;
    });
  }

  /** How fast damage grows in each cell, as heating.damage_rate_per_s says. */
  private rates(): Float64Array {
    const body = number("KELVIN_OF_ZERO") + number("BODY_TEMPERATURE");
    const frequency = number("DAMAGE_LOG_FREQUENCY");
    const activation = number("DAMAGE_ACTIVATION");
    return this.rise_k.map((rise) => Math.exp(frequency - activation / (body + rise)));
  }

  /** The rise at the surface, where the profile is level; boiling cells as they are. */
  surfaceRise(): number {
    const [first = 0, second = 0] = this.rise_k;
    if (this.enthalpy[0]! >= this.medium.boiling_heat_j_m3) return first;
    return first + (first - second) / 8;
  }

  /** What is missing of the absorbed energy, as a part of it. */
  balanceError(): number {
    if (this.absorbed_j_m2 === 0) return 0;
    let held = this.removed_m * this.medium.removal_heat_j_m3;
    for (let i = 0; i < this.sizes.length; i += 1) held += this.enthalpy[i]! * this.sizes[i]!;
    return (held - this.absorbed_j_m2) / this.absorbed_j_m2;
  }

  /** Depth of the middle of each cell below the present surface. */
  depths(): number[] {
    return Array.from(this.sizes, (_, i) => (this.edges_m[i]! + this.edges_m[i + 1]!) / 2);
  }
}

/** The depth to which the damage is 1 or more, 0 where it is nowhere. */
export function depthOfDamage(depths_m: readonly number[], damage: ArrayLike<number>): number {
  if (damage[0]! < 1) return 0;
  for (let place = 1; place < damage.length; place += 1) {
    if (damage[place]! < 1) {
      // Between two cells the logarithm of the damage is taken as straight.
      const above = Math.log(damage[place - 1]!);
      const below = Math.log(Math.max(damage[place]!, Math.exp(-700)));
      const span = depths_m[place]! - depths_m[place - 1]!;
      return depths_m[place - 1]! + above / (above - below) * span;
    }
  }
  return depths_m[depths_m.length - 1]!;
}
