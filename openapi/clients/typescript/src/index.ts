/** A typed client of Hooflast: every path, form and answer as the OpenAPI document of its service has them. */

import createClient, { type Client } from "openapi-fetch";
import type { components, paths } from "./schema.js";

export type { components, paths };
export type Problem = components["schemas"]["Problem"];

/** Where a service is reached, and the key to show there. */
export interface Where {
  url: string;
  key?: string;
}

/** A client of one service. */
export function hooflast({ url, key }: Where): Client<paths> {
  return createClient<paths>({ baseUrl: url, headers: key === undefined ? {} : { Authorization: `Bearer ${key}` } });
}

/** What is answered, or an error with the problem's own words. */
export function answered<Data>(result: { data?: Data; error?: unknown }): Data {
  if (result.data === undefined) {
    const problem = result.error as Partial<Problem> | undefined;
    throw new Error(problem?.detail ?? JSON.stringify(result.error));
  }
  return result.data;
}
