/** Cycles of a directed graph given by rows of edges. */
export interface Graph {
  readonly nodes: number;
  /** Edges of node k: first[k] up to first[k + 1], excluded. */
  readonly first: Int32Array;
  readonly to: Int32Array;
}

export interface CycleEdge {
  readonly from: number;
  readonly edge: number;
}

/**
 * The cycle through a marked edge that begins at the node with the lowest number; undefined when there is none. Strong components
 * by R. E. Tarjan, Depth-first search and linear graph algorithms, SIAM J. Comput. 1 (1972); O(nodes + edges).
 */
export function firstCycle(graph: Graph, marked: (edge: number) => boolean): readonly CycleEdge[] | undefined {
  const component = components(graph);
  for (let from = 0; from < graph.nodes; from++)
    for (let edge = graph.first[from]!; edge < graph.first[from + 1]!; edge++)
      if (marked(edge) && component[graph.to[edge]!] === component[from])
        return [{ from, edge }, ...shortestWay(graph, component, graph.to[edge]!, from)];
  return undefined;
}

/** Number of the strong component of each node. */
function components({ nodes, first, to }: Graph): Int32Array {
  const order = new Int32Array(nodes);
  const low = new Int32Array(nodes);
  const component = new Int32Array(nodes).fill(-1);
  const next = new Int32Array(nodes);
  const open: number[] = [];
  const trail: number[] = [];
  let counter = 0;
  let count = 0;
  for (let root = 0; root < nodes; root++) {
    if (order[root] !== 0) continue;
    trail.push(root);
    while (trail.length > 0) {
      const node = trail.at(-1)!;
      if (order[node] === 0) {
        order[node] = low[node] = ++counter;
        next[node] = first[node]!;
        open.push(node);
      }
      if (next[node]! < first[node + 1]!) {
        const other = to[next[node]!++]!;
        if (order[other] === 0) trail.push(other);
        else if (component[other] === -1) low[node] = Math.min(low[node]!, order[other]!);
        continue;
      }
      trail.pop();
      const above = trail.at(-1);
      if (above !== undefined) low[above] = Math.min(low[above]!, low[node]!);
      if (low[node] !== order[node]) continue;
      for (let member = -1; member !== node; ) {
        member = open.pop()!;
        component[member] = count;
      }
      count++;
    }
  }
  return component;
}

function shortestWay(graph: Graph, component: Int32Array, start: number, goal: number): CycleEdge[] {
  const cameBy = new Map<number, CycleEdge>();
  const queue = [start];
  for (let k = 0; k < queue.length && queue[k] !== goal; k++) {
    const from = queue[k]!;
    for (let edge = graph.first[from]!; edge < graph.first[from + 1]!; edge++) {
      const other = graph.to[edge]!;
      if (component[other] !== component[from] || other === start || cameBy.has(other)) continue;
      cameBy.set(other, { from, edge });
      queue.push(other);
    }
  }
  const way: CycleEdge[] = [];
  for (let node = goal; node !== start; ) {
    const by = cameBy.get(node)!;
    way.push(by);
    node = by.from;
  }
  return way.reverse();
}
