"""Double-running walks judged by networkx, for the figures on standard input.

Reads JSON: [{"stitches": [[[x, y], [x, y]], ...], "walks": [[[x, y], ...], ...]}, ...].
Writes JSON, one object a figure: the number of connected parts (networkx.number_connected_components), for
each part the length of an Euler circuit of the multigraph in which every stitch stands twice
(networkx.eulerian_circuit), and whether each walk is such a circuit of one part, all parts being walked once.
"""
import json
import sys
from collections import Counter

import networkx as nx

answers = []
for figure in json.load(sys.stdin):
    doubled = nx.MultiGraph()
    for start, end in figure["stitches"]:
        doubled.add_edge(tuple(start), tuple(end))
        doubled.add_edge(tuple(start), tuple(end))
    parts = [doubled.subgraph(nodes) for nodes in nx.connected_components(doubled)]

    def edges(pairs):
        return Counter(frozenset(map(tuple, pair)) for pair in pairs)

    circuits = [edges(nx.eulerian_circuit(part)) for part in parts]
    left = list(circuits)
    right = True
    for walk in figure["walks"]:
        mine = edges(zip(walk, walk[1:]))
        if walk[0] != walk[-1] or mine not in left:
            right = False
            break
        left.remove(mine)
    answers.append(
        {
            "parts": nx.number_connected_components(doubled),
            "lengths": sorted(sum(circuit.values()) for circuit in circuits),
            "walks_are_circuits": right and not left,
        }
    )
json.dump(answers, sys.stdout)
