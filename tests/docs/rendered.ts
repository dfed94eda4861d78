import { scenarioSchema, siteSchema } from '../../harness/scenario/reader/json-schema.ts';
import { TABLES } from '../helpers/sites.ts';
import { renderAssumptions } from './assumptions.ts';
import { renderEquipment } from './equipment.ts';

const json = (value: object): string => `${JSON.stringify(value, undefined, 2)}\n`;

/** Every document that is made from the code, by its path from the project's root. */
export const RENDERED: Readonly<Record<string, () => string>> = {
  'docs/assumptions.md': renderAssumptions,
  'docs/equipment.md': renderEquipment,
  'docs/schemas/site.schema.json': () => json(siteSchema(TABLES)),
  'docs/schemas/scenario.schema.json': () => json(scenarioSchema(TABLES, TABLES.rules)),
};
