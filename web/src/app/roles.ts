// What the roles of a person mean to the screens. The service judges every call again.
import { Role } from "../proto/evenpeel/access/v1/access_service_pb.ts";
import type { Person } from "./session.tsx";

const has = (person: Person, ...roles: Role[]): boolean => roles.some((role) => person.roles.includes(role));

/** mayWrite tells whether the person may change drafts. */
export const mayWrite = (person: Person): boolean => has(person, Role.OFFICE_EDITOR, Role.OFFICE_APPROVER);

/** mayApprove tells whether the person may take second looks and release. */
export const mayApprove = (person: Person): boolean => has(person, Role.OFFICE_APPROVER);

/** mayReadDrafts tells whether drafts are shown to the person at all. */
export const mayReadDrafts = (person: Person): boolean => mayWrite(person) || has(person, Role.AUDITOR);
