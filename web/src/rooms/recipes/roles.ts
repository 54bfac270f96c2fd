import type { Person } from "../../app/session.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

/** mayWrite tells whether the person may change drafts. The service judges again. */
export const mayWrite = (person: Person): boolean =>
  person.roles.includes(Role.OFFICE_EDITOR) || person.roles.includes(Role.OFFICE_APPROVER);

/** mayApprove tells whether the person may take second looks. The service judges again. */
export const mayApprove = (person: Person): boolean => person.roles.includes(Role.OFFICE_APPROVER);

/** mayReadDrafts tells whether drafts are shown to the person at all. */
export const mayReadDrafts = (person: Person): boolean =>
  mayWrite(person) || person.roles.includes(Role.AUDITOR);
