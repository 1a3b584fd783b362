/** An example: what one boot a hoof takes, and where its SKU stands; run by `node dist/example.js`. */

import { answered, hooflast } from "./index.js";

const client = hooflast({ url: process.env["HOOFLAST_URL"] ?? "", key: process.env["HOOFLAST_KEY"] ?? "" });

const kept = answered(
  await client.POST("/v1/assortments", {
    params: { header: { "Idempotency-Key": "typescript" } },
    body: {
      name: "Webshop",
      currency: "EUR",
      items: { "TT-1001": { product: "ombrick-jorveth", size: "lapwing", price: "64.90", stock: 3 } },
    },
  }),
);
const match = answered(
  await client.POST("/v1/matches", {
    body: {
      hooves: [{ limb: "LF", width: 124, length: 127 }],
      uses: ["hacking"],
      assortment: { id: kept.id },
    },
  }),
);
const again = answered(await client.GET("/v1/matches/{match_id}", { params: { path: { match_id: match.id ?? "" } } }));
const best = again.hooves[0]?.boots[0]?.best;
console.log(JSON.stringify({ mapped: kept.mapped, size: best?.size, sku: best?.sold?.[0]?.sku, same: again.id === match.id }));

const refused = await client.POST("/v1/matches", { body: { hooves: [] } });
console.log(JSON.stringify({ status: refused.response.status, code: refused.error?.errors?.[0]?.code }));
