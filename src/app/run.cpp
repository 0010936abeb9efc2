#include <cstdio>

#include "app/commands.hpp"

namespace mien::app {

int tell(const show::Finding& finding) {
  std::fprintf(stderr, "%s\n", show::to_text(finding).c_str());
  return finding.severity == show::Severity::error ? kUnusable : finding.severity == show::Severity::warning ? kFindings : kFine;
}

int tell(const show::Findings& findings) {
  int worst = kFine;
  for (const auto& finding : findings) worst = std::max(worst, tell(finding));
  return worst;
}

int run(int count, char** words) {
  CLI::App app{
      "Mien writes, rehearses and performs the expressions of an animatronic head.\n"
      "Without a command it opens the editor.\n"
      "Exit codes: 0 fine, 1 findings, 2 unusable input.",
      "mien"};
  app.set_version_flag("--version", "Mien " MIEN_VERSION);
  app.require_subcommand(0, 1);
  int exit_code = kFine;
  for (auto add : {add_edit, add_play, add_render, add_check, add_describe, add_import, add_export, add_board, add_ports}) add(app, exit_code);
  try {
    app.parse(count, words);
    if (app.get_subcommands().empty()) app.parse("edit");
  } catch (const CLI::ParseError& problem) {
    return app.exit(problem) == 0 ? kFine : kUnusable;  // --help and --version come this way, too
  }
  return exit_code;
}

}  // namespace mien::app
