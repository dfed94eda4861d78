import fc from 'fast-check';

// Without a fixed seed each run would test something else and a red run could not be repeated.
fc.configureGlobal({ seed: Number(process.env['FC_SEED'] ?? 42) });
