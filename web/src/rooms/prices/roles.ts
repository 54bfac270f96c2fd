import type { Person } from "../../app/session.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

/** mayWrite tells whether the person may change drafts. The service judges again. */
export const mayWrite = (person: Person): boolean =>
  person.roles.includes(Role.OFFICE_EDITOR) || person.roles.includes(Role.OFFICE_APPROVER);
