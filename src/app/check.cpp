// mien check: what is wrong with a show or a rig, where, and what to do.
#include <cstdio>
#include <filesystem>
#include <optional>

#include "app/commands.hpp"
#include "app/speech.hpp"
#include "app/text.hpp"
#include "perform/power.hpp"
#include "perform/rig_check.hpp"
#include "perform/study.hpp"
#include "sound/wave.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

// Where the head can't do what a whole show asks for; nothing for a rig, or for a show that isn't fit to be performed.
struct Studied {
  perform::PlanPtr plan;
  perform::Study study;
};
Studied studied(const std::string& file) {
  const auto loaded = store::load_show(file);
  if (!loaded) return {};
  Studied result{perform::compile(loaded->rig, loaded->show), {}};
  result.study = perform::study(*result.plan);
  return result;
}

// Sounds that are there and can't be read: the show plays without them.
show::Findings unreadable_sounds(const show::Show& show, const std::string& file) {
  show::Findings findings;
  for (const show::Sound& sound : show.sounds) {
    const auto path = std::filesystem::path(file).parent_path() / sound.file;
    std::error_code ignored;
    if (!std::filesystem::is_regular_file(path, ignored)) continue;  // found already
    const auto wave = sound::load(path, &findings);
    if (wave) continue;
    auto problem = wave.problem();
    problem.severity = show::Severity::warning;
    findings.push_back(std::move(problem));
  }
  return findings;
}

// The study performs a show as it plays by itself; what a cue asks for depends on when it is asked.
std::optional<show::Finding> cues_not_studied(const perform::Plan& plan, const std::string& file) {
  if (plan.show->cues.empty()) return std::nullopt;
  return show::Finding{show::Severity::note, file, "cues", "Whether the head can do what cues ask for was not studied: only the show as it plays by itself was",
                       "Render them with mien render SHOW --cues --for S --cue-at S:NAME and compare target_deg with setpoint_deg; or place their clips on a layer of a copy and check that"};
}

int check(const std::string& file, bool as_json) {
  auto [readable, findings, show, rig] = store::check_file(file);
  if (rig) {
    const auto geometry = perform::check_rig(*rig, show ? store::rig_path(file, *show).string() : file);
    findings.insert(findings.end(), geometry.begin(), geometry.end());
  }
  if (show) {
    const auto silent = unreadable_sounds(*show, file);
    findings.insert(findings.end(), silent.begin(), silent.end());
  }
  const auto [plan, study] = readable && !show::has_errors(findings) ? studied(file) : Studied{};
  if (plan && !plan->rig->servos.empty()) {  // with no servo known, nothing is known of what they draw
    const auto drawn = perform::findings_of(*plan->rig, perform::power(*plan), store::rig_path(file, *show).string());
    findings.insert(findings.end(), drawn.begin(), drawn.end());
  }
  if (plan) {
    const auto spoken = speech_findings(*plan, file);
    findings.insert(findings.end(), spoken.begin(), spoken.end());
    if (auto note = cues_not_studied(*plan, file)) findings.push_back(std::move(*note));
  }
  int errors = 0, warnings = static_cast<int>(study.shortfalls.size());
  for (const auto& f : findings) (f.severity == show::Severity::error ? errors : warnings) += f.severity != show::Severity::note;
  if (as_json) {
    Json json;
    json.open_object().member("file", file).member("errors", double(errors)).member("warnings", double(warnings)).open_array("findings");
    for (const auto& f : findings) append(json, f);
    for (const auto& s : study.shortfalls) append(json, *plan, s, file);
    std::printf("%s\n", json.close().close().text().c_str());
  } else {
    for (const auto& f : findings) std::printf("%s\n", show::to_text(f).c_str());
    for (const auto& s : study.shortfalls) std::printf("%s\n", show::to_text(perform::finding_of(*plan, s, file)).c_str());
    if (findings.empty() && study.shortfalls.empty()) std::printf("%s: nothing to report\n", file.c_str());
  }
  return !readable ? kUnusable : errors || warnings ? kFindings : kFine;
}

}  // namespace

int run_check(const CheckWords& words) { return check(words.file, words.json); }

}  // namespace mien::app
