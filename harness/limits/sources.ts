/**
 * Where a limit was seen. The standards themselves are sold and were not opened; these are the public texts in which their
 * numbers stand. A text whose address is not on record cannot be checked by a stranger: numbers that rest on it alone are weak.
 */
export const LIMIT_SOURCES = {
  'institute-der-code':
    "A research institute's openly published code of the behaviour that IEEE 1547-2018 asks for; name withheld",
  'laboratory-ride-through-code':
    "A national laboratory's openly published ride-through controller with its defaults; name withheld",
  'laboratory-distribution-code':
    "A national laboratory's openly published distribution-system code, inverter part; name withheld",
  'pvpmc-loss-of-grid':
    'Sandia PV Performance Modeling Collaborative, "Loss of Grid", pvpmc.sandia.gov/modeling-guide/dc-to-ac-conversion/loss-of-grid/',
  'power-quality-textbook':
    '"Power Quality in Electrical Systems", figure 8.2, digilib.universitaspertamina.ac.id, page 129',
  'power-quality-note': 'Power-quality troubleshooting application note, page 20, manualshelf.com; maker withheld',
  'cpuc-12993-05':
    'California PUC proposed decision, finding 8, docs.cpuc.ca.gov/publishedDocs/published/comment_decision/12993-05.htm',
  'voltage-boundary-sheet':
    'A utility\'s "Voltage Tolerance Boundary", figure 1, scribd.com/document/335834434; name withheld',
  'relay-manual-synchrocheck': 'Feeder-relay manual, synchrocheck, easymanua.ls page 511; maker withheld',
  'nec-panel-702':
    'Code-panel proposal 13-168 on 702.5, forums.mikeholt.com/threads/residential-back-up-generator.38773',
  'nec-newsletter-250':
    "A code instructor's newsletter archive, mikeholt.com/mojonewsarchive/GB-HTML/HTML/Switch-Neutral-Transfer-Switch~20040720.php",
  'nec-comment-625': '2020 text of NEC article 625 with comment, and overviews of it; names withheld',
  'nec-course-705':
    'Course on code changes, 705.12(B)(3), electricallicenserenewal.com, section 972; the 120 % rule also in a worked example',
  'private-notes': 'Public notes or code of one person, address not on record; a hint, no proof',
  memory: 'From memory of the named clause; not confirmed in anything opened',
  'common-practice': 'Common practice, no source',
  own: 'Chosen for this project; no published figure',
} as const;

export type LimitSource = keyof typeof LIMIT_SOURCES;
