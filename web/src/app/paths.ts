// Every address of the page, in one place: a link is made here and nowhere else. View state (filters, sort, dates)
// is added by the screens as a query, with withQuery.

const part = encodeURIComponent;

export const paths = {
  start: "/",
  signIn: "/sign-in",
  firstPerson: "/first-person",
  people: "/people",
  settings: "/settings",
  health: "/health",

  recipes: "/recipes",
  recipe: (recipe: string) => `/recipes/${part(recipe)}`,
  revision: (recipe: string, number: number) => `/recipes/${part(recipe)}/revisions/${number}`,
  /** Both sides by name: "recipes/x/revisions/3" or "drafts/d". */
  sideBySide: (left: string, right: string) => `/side-by-side?left=${part(left)}&right=${part(right)}`,
  draft: (draft: string) => `/drafts/${part(draft)}`,
  secondLooks: "/second-looks",
  secondLook: (draft: string) => `/second-looks/${part(draft)}`,
  releases: "/releases",
  release: (number: number) => `/releases/${number}`,
  newRelease: "/releases/new",
  reach: "/reach",
  prices: "/prices",
  priceList: (list: string) => `/prices/${part(list)}`,
  papers: "/papers",
  past: "/past",
  acts: "/past/acts",

  bench: "/bench",
  card: (recipe: string) => `/bench/cards/${part(recipe)}`,
  newPlan: "/bench/plans/new",
  plan: (order: string) => `/bench/plans/${part(order)}`,
  steps: (order: string) => `/bench/plans/${part(order)}/steps`,
  outcome: (order: string) => `/bench/plans/${part(order)}/outcome`,
  waiting: "/bench/waiting",
  correctRun: (run: string) => `/bench/runs/${part(run)}`,
  machines: "/machines",
  stock: "/stock",

  fairView: "/compare",
  branch: (branch: string) => `/compare/branches/${part(branch)}`,
  filmLoss: "/compare/film",
  film: (film: string) => `/compare/film/${part(film)}`,
  charts: "/compare/charts",
  changes: "/compare/changes",
  causes: "/compare/causes",
  costs: "/compare/costs",
  trial: (release: number) => `/compare/trials/${release}`,
  methods: "/compare/methods",
  pack: (branch: string) => `/compare/branches/${part(branch)}/pack`,
} as const;

/** withQuery adds view state to a path; empty values are left out so that the address stays short. */
export function withQuery(path: string, query: Record<string, string | number | undefined>): string {
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(query))
    if (value !== undefined && value !== "") search.set(name, String(value));
  const text = search.toString();
  return text === "" ? path : `${path}?${text}`;
}

/** lastPart gives "cotton-soft" for "recipes/cotton-soft": the id at the end of a resource name. */
export function lastPart(name: string): string {
  return name.slice(name.lastIndexOf("/") + 1);
}

/** personWords gives "Mira Oakhill" for "people/mira-oakhill-4c1f09ab"; a name without words stays as it is. */
export function personWords(name: string): string {
  const words = lastPart(name).split("-").slice(0, -1);
  if (words.length === 0) return lastPart(name) || "nobody";
  return words.map((word) => word.charAt(0).toUpperCase() + word.slice(1)).join(" ");
}
