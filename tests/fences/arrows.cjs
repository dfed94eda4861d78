// The arrows between folders (DEVELOPERS.md, "The house"). Run by `npm run lint`.
const npm = ['npm', 'npm-dev', 'npm-optional', 'npm-peer', 'npm-no-pkg', 'npm-unknown'];
const root = '^sim/(maths|maths/[a-z]+|units|check|telemetry|site-description)[.]ts$'; // may be imported by all of sim
const never = (name, from, to) => ({ name, severity: 'error', from: { path: from }, to });
const pure = '^harness/(scenario|limits|rules|campaign|run)/';
const reader = '^harness/scenario/reader/';
const node = '^(node:)?(fs|net|path|os|crypto|url|util|stream|child_process|worker_threads)(/|$)';

module.exports = {
  forbidden: [
    never('sim-knows-no-harness', '^sim/', { path: '^(harness|tests)/' }),
    never('sim-knows-no-node', '^sim/', { dependencyTypes: ['core'] }),
    never('sim-knows-two-packages', '^sim/', { dependencyTypes: npm, pathNot: '^node_modules/(xstate|rxjs)/' }),
    never('roots-know-only-roots', root, { path: '^sim/', pathNot: root }),
    never('time-is-lowest', '^sim/time/', { path: '^sim/', pathNot: ['^sim/time/', root] }),
    never('network-is-lowest', '^sim/network/', { path: '^sim/', pathNot: ['^sim/network/', root] }),
    never('equipment-knows-no-gateway', '^sim/equipment/', { path: '^sim/(gateway/|site/|site[.]ts)' }),
    never('gateway-knows-no-equipment', '^sim/gateway/', { path: '^sim/(equipment/|site/|site[.]ts)' }),
    never('rules-know-no-equipment', '^harness/rules/', { path: '^sim/', pathNot: root }),
    never('harness-knows-no-tests', '^harness/', { path: '^tests/' }),
    {
      name: 'pages-half-reaches-no-node',
      severity: 'error',
      from: { path: pure, pathNot: reader },
      to: { path: node, reachable: true },
    },
    {
      name: 'pages-half-reaches-no-reader',
      severity: 'error',
      from: { path: pure, pathNot: reader },
      to: { path: '^node_modules/(yaml|zod)/', reachable: true },
    },
    { name: 'no-circular', severity: 'error', from: {}, to: { circular: true } },
    { name: 'not-unresolvable', severity: 'error', from: {}, to: { couldNotResolve: true } },
  ],
  options: {
    tsPreCompilationDeps: true,
    tsConfig: { fileName: 'tsconfig.json' },
    doNotFollow: { path: 'node_modules' },
    exclude: { path: '^dist/' },
    enhancedResolveOptions: { exportsFields: ['exports'], conditionNames: ['import', 'types'] },
  },
};
