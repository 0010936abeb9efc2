// The command line: one function a command. Each adds its name, options and help to the parser and, once chosen, does its work and
// leaves an exit code.
#pragma once
#include <CLI/CLI.hpp>
#include <string>

#include "show/finding.hpp"

namespace mien::app {

/// 0 fine, 1 findings, 2 unusable input.
enum Exit : int { kFine = 0, kFindings = 1, kUnusable = 2 };

int run(int count, char** words);

void add_edit(CLI::App& app, int& exit_code);
void add_play(CLI::App& app, int& exit_code);
void add_render(CLI::App& app, int& exit_code);
void add_check(CLI::App& app, int& exit_code);
void add_describe(CLI::App& app, int& exit_code);
void add_import(CLI::App& app, int& exit_code);
void add_export(CLI::App& app, int& exit_code);
void add_board(CLI::App& app, int& exit_code);
void add_ports(CLI::App& app, int& exit_code);

/// Prints to standard error; returns the exit code that the worst of them asks for.
int tell(const show::Findings& findings);
int tell(const show::Finding& finding);

}  // namespace mien::app
