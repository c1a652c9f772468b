/** Nodes: their range of values, and functions that compute them. */
import type { Node, Operation } from "./network.ts";

/** A discrete state: the values of all fields. */
export type State = Int32Array;
export type Evaluate = (state: State) => number;

/** A move asked for something that has no value: it is reported with the run that leads there. */
export class ModelFault extends Error {
  override readonly name = "ModelFault";
}

export const constant = (value: number): Node => ({ kind: "constant", value });

/** A node with constants worked out where that is possible. */
export function operation(op: Operation, left: Node, right: Node): Node {
  if (left.kind === "constant" && right.kind === "constant" && !((op === "div" || op === "mod") && right.value === 0))
    return constant(apply(op, left.value, right.value));
  if (op === "and" && left.kind === "constant") return left.value === 0 ? left : right;
  if (op === "or" && left.kind === "constant") return left.value === 0 ? right : left;
  if (op === "and" && right.kind === "constant" && right.value !== 0) return left;
  if (op === "or" && right.kind === "constant" && right.value === 0) return left;
  return { kind: "operation", op, left, right };
}

export function negative(of: Node): Node {
  return of.kind === "constant" ? constant(of.value === 0 ? 0 : -of.value) : { kind: "minus", of };
}

const opposite: Partial<Record<Operation, Operation>> = {
  "=": "!=",
  "!=": "=",
  "<": ">=",
  ">=": "<",
  ">": "<=",
  "<=": ">",
};

export function negation(of: Node): Node {
  if (of.kind === "constant") return constant(of.value === 0 ? 1 : 0);
  if (of.kind === "not") return of.of;
  if (of.kind === "operation") {
    const other = opposite[of.op];
    if (other !== undefined) return { ...of, op: other };
  }
  return { kind: "not", of };
}

/** Division is of whole numbers and rounds toward 0; the remainder has the sign of the dividend. */
function apply(op: Operation, a: number, b: number): number {
  switch (op) {
    case "+":
      return a + b;
    case "-":
      return a - b;
    case "*":
      return a * b;
    case "div":
      return Math.trunc(a / b) + 0;
    case "mod":
      return (a % b) + 0;
    case "=":
      return a === b ? 1 : 0;
    case "!=":
      return a !== b ? 1 : 0;
    case "<":
      return a < b ? 1 : 0;
    case "<=":
      return a <= b ? 1 : 0;
    case ">":
      return a > b ? 1 : 0;
    case ">=":
      return a >= b ? 1 : 0;
    case "and":
      return a !== 0 && b !== 0 ? 1 : 0;
    case "or":
      return a !== 0 || b !== 0 ? 1 : 0;
  }
}

export interface Range {
  readonly min: number;
  readonly max: number;
}

/** Values that a node can have, perhaps some more. */
export function rangeOf(node: Node, fields: readonly Range[]): Range {
  switch (node.kind) {
    case "constant":
      return { min: node.value, max: node.value };
    case "field":
      return fields[node.field]!;
    case "element":
      return fields[node.base]!;
    case "count":
      return { min: 0, max: node.fields.length };
    case "not":
      return { min: 0, max: 1 };
    case "minus": {
      const { min, max } = rangeOf(node.of, fields);
      return { min: -max, max: -min };
    }
    case "choice": {
      const a = rangeOf(node.yes, fields);
      const b = rangeOf(node.otherwise, fields);
      return { min: Math.min(a.min, b.min), max: Math.max(a.max, b.max) };
    }
    case "operation": {
      const a = rangeOf(node.left, fields);
      const b = rangeOf(node.right, fields);
      if (node.op === "+") return { min: a.min + b.min, max: a.max + b.max };
      if (node.op === "-") return { min: a.min - b.max, max: a.max - b.min };
      if (node.op === "*") {
        const corners = [a.min * b.min, a.min * b.max, a.max * b.min, a.max * b.max];
        return { min: Math.min(...corners), max: Math.max(...corners) };
      }
      if (node.op === "div") {
        const most = Math.max(Math.abs(a.min), Math.abs(a.max));
        return { min: -most, max: most };
      }
      if (node.op === "mod") {
        const most = Math.max(Math.abs(b.min), Math.abs(b.max));
        return { min: a.min >= 0 ? 0 : -most, max: a.max <= 0 ? 0 : most };
      }
      return { min: 0, max: 1 };
    }
  }
}

/** Fields that a node reads. */
export function fieldsOf(node: Node, out: Set<number> = new Set()): Set<number> {
  switch (node.kind) {
    case "constant":
      break;
    case "field":
      out.add(node.field);
      break;
    case "element":
      for (let k = 0; k < node.size; k++) out.add(node.base + k);
      fieldsOf(node.index, out);
      break;
    case "count":
      for (const field of node.fields) out.add(field);
      break;
    case "minus":
    case "not":
      fieldsOf(node.of, out);
      break;
    case "operation":
      fieldsOf(node.left, out);
      fieldsOf(node.right, out);
      break;
    case "choice":
      fieldsOf(node.test, out);
      fieldsOf(node.yes, out);
      fieldsOf(node.otherwise, out);
  }
  return out;
}

/** The node as a function. It throws ModelFault for an index outside its array and for division by 0. */
export function compileNode(node: Node): Evaluate {
  switch (node.kind) {
    case "constant": {
      const { value } = node;
      return () => value;
    }
    case "field": {
      const { field } = node;
      return (s) => s[field]!;
    }
    case "element": {
      const { base, size, name } = node;
      const index = compileNode(node.index);
      return (s) => {
        const k = index(s);
        if (k < 0 || k >= size) throw new ModelFault(`${name}[${k}] is read; ${name} has elements 0 to ${size - 1}`);
        return s[base + k]!;
      };
    }
    case "count": {
      const { fields, value } = node;
      if (fields.length === 1) {
        const field = fields[0]!;
        return (s) => (s[field]! === value ? 1 : 0);
      }
      return (s) => {
        let n = 0;
        for (let k = 0; k < fields.length; k++) if (s[fields[k]!]! === value) n++;
        return n;
      };
    }
    case "minus": {
      const of = compileNode(node.of);
      return (s) => -of(s) + 0;
    }
    case "not": {
      const of = compileNode(node.of);
      return (s) => (of(s) === 0 ? 1 : 0);
    }
    case "choice": {
      const test = compileNode(node.test);
      const yes = compileNode(node.yes);
      const otherwise = compileNode(node.otherwise);
      return (s) => (test(s) !== 0 ? yes(s) : otherwise(s));
    }
    case "operation":
      return compileOperation(node.op, node.left, node.right);
  }
}

function compileOperation(op: Operation, left: Node, right: Node): Evaluate {
  // The most frequent shapes without inner calls.
  if (left.kind === "field" && right.kind === "constant") {
    const { field } = left;
    const { value } = right;
    if (op === "=") return (s) => (s[field]! === value ? 1 : 0);
    if (op === "!=") return (s) => (s[field]! !== value ? 1 : 0);
    if (op === "<") return (s) => (s[field]! < value ? 1 : 0);
    if (op === ">") return (s) => (s[field]! > value ? 1 : 0);
    if (op === "+") return (s) => s[field]! + value;
    if (op === "-") return (s) => s[field]! - value;
  }
  const a = compileNode(left);
  const b = compileNode(right);
  switch (op) {
    case "+":
      return (s) => a(s) + b(s);
    case "-":
      return (s) => a(s) - b(s);
    case "*":
      return (s) => a(s) * b(s);
    case "div":
    case "mod":
      return (s) => {
        const divisor = b(s);
        if (divisor === 0) throw new ModelFault(`a division by 0 (${op})`);
        return apply(op, a(s), divisor);
      };
    case "=":
      return (s) => (a(s) === b(s) ? 1 : 0);
    case "!=":
      return (s) => (a(s) !== b(s) ? 1 : 0);
    case "<":
      return (s) => (a(s) < b(s) ? 1 : 0);
    case "<=":
      return (s) => (a(s) <= b(s) ? 1 : 0);
    case ">":
      return (s) => (a(s) > b(s) ? 1 : 0);
    case ">=":
      return (s) => (a(s) >= b(s) ? 1 : 0);
    case "and":
      return (s) => (a(s) !== 0 && b(s) !== 0 ? 1 : 0);
    case "or":
      return (s) => (a(s) !== 0 || b(s) !== 0 ? 1 : 0);
  }
}

/** All of the nodes, of which there is at least one; halved, so that long lists do not nest deeply. */
function conjunction(nodes: readonly Node[]): Node {
  if (nodes.length === 1) return nodes[0]!;
  const middle = nodes.length >> 1;
  return operation("and", conjunction(nodes.slice(0, middle)), conjunction(nodes.slice(middle)));
}

/** All of the nodes as one condition; undefined when there are none. */
export function compileAll(nodes: readonly Node[]): Evaluate | undefined {
  if (nodes.length === 0) return undefined;
  return compileNode(conjunction(nodes));
}
