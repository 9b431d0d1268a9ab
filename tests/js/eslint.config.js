// The style of the browser code and of its unit tests.

import js from "@eslint/js";
import globals from "globals";

const rules = {
  ...js.configs.recommended.rules,
  curly: ["error", "multi-line"],
  eqeqeq: ["error", "always", { null: "ignore" }],
  "no-control-regex": "off", // a chart may hold any of the characters that end a line
  "no-shadow": ["error", { builtinGlobals: false }],
  "no-unused-vars": ["error", { args: "after-used", caughtErrors: "all" }],
  "no-useless-return": "error",
  "no-var": "error",
  "object-shorthand": "error",
  "prefer-const": ["error", { destructuring: "all" }],
  "prefer-template": "error",
};

const code = { ecmaVersion: 2023, sourceType: "module" };

export default [
  { files: ["**/*.js"], languageOptions: { ...code, globals: globals.browser }, rules },
  { files: ["**/device/offline.js"], languageOptions: { ...code, globals: globals.serviceworker } },
  { files: ["**/*.test.js", "eslint.config.js"], languageOptions: { ...code, globals: globals.node } },
];
