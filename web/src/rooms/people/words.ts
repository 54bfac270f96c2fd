import { type Person, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

export type NamedRole = Exclude<Role, Role.UNSPECIFIED>;

type RoleWords = { role: NamedRole; words: string; does: string; ofBranch: boolean };

/** What each role is called and does. */
export const roleWords: readonly RoleWords[] = [
  { role: Role.OFFICE_EDITOR, words: "Office editor", does: "writes drafts", ofBranch: false },
  {
    role: Role.OFFICE_APPROVER,
    words: "Office approver",
    does: "gives second looks, releases, keeps this list",
    ofBranch: false,
  },
  { role: Role.BRANCH_OPERATOR, words: "Branch operator", does: "works at a bench", ofBranch: true },
  { role: Role.BRANCH_MANAGER, words: "Branch manager", does: "runs a branch", ofBranch: true },
  {
    role: Role.FRANCHISE_MANAGER,
    words: "Franchise manager",
    does: "looks after all branches",
    ofBranch: false,
  },
  { role: Role.AUDITOR, words: "Auditor", does: "reads everything, changes nothing", ofBranch: false },
];

/** needsBranch tells whether one of the roles belongs to a branch. */
export const needsBranch = (roles: readonly Role[]): boolean =>
  roleWords.some(({ role, ofBranch }) => ofBranch && roles.includes(role));

/** rolesOf writes a person's roles. */
export const rolesOf = (person: Person): string =>
  roleWords
    .filter(({ role }) => person.roles.includes(role))
    .map(({ words }) => words)
    .join(", ") || "none";
