// mien cue: the cue list of a show.
#include <cstdio>

#include "app/commands.hpp"
#include "app/show_edit.hpp"
#include "app/text.hpp"
#include "show/cue_edit.hpp"
#include "show/text.hpp"

namespace mien::app {
namespace {

using show::Cue;

show::Finding no_cue(const show::Show& show, const std::string& file, const std::string& name) {
  std::vector<std::string> known;
  for (const auto& cue : show.cues) known.push_back(cue.name);
  const std::string hint = show::suggestion(name, known);
  return refused(file, "", "the show has no cue '" + name + "'", hint.empty() ? "Add it with 'mien cue add'." : hint);
}

std::string starts_of(const Cue& cue) {
  std::string all;
  const auto add = [&](const std::string& text) { all += (all.empty() ? "" : ", ") + text; };
  if (!cue.key.empty()) add("key " + cue.key);
  if (cue.at_time) add("show " + show::seconds_text(*cue.at_time) + " s");
  if (cue.at_clock) add(show::clock_text(*cue.at_clock));
  return all.empty() ? "-" : all;
}

void print_cues(const show::Show& show, bool as_json) {
  Json json;
  json.open_array();
  Table table{{"cue", "does", "in s", "out s", "hold s", "pause s", "priority", "follow", "starts"}};
  for (const Cue& c : show.cues) {
    table.push_back({c.name, show::to_text(c.deed), show::seconds_text(c.fade_in), show::seconds_text(c.fade_out), show::seconds_text(c.hold), show::seconds_text(c.pause), std::to_string(c.priority),
                     c.follow.empty() ? "-" : c.follow, starts_of(c)});
    json.open_object().member("cue", c.name).member("kind", show::kind_name(c.deed)).member("does", show::to_text(c.deed)).member("fade_in_s", show::to_seconds(c.fade_in));
    json.member("fade_out_s", show::to_seconds(c.fade_out)).member("hold_s", show::to_seconds(c.hold)).member("pause_s", show::to_seconds(c.pause)).member("priority", double(c.priority));
    json.member("follow", c.follow).member("key", c.key);
    if (c.at_time) json.member("at_time_s", show::to_seconds(*c.at_time));
    if (c.at_clock) json.member("at_clock", show::clock_text(*c.at_clock));
    json.close();
  }
  if (as_json) std::printf("%s\n", json.close().text().c_str());
  else std::printf("%s", aligned(table).c_str());
}

// What was said, onto the cue; the finding where it can't be read.
class Saying {
 public:
  Saying(const CueWords& words, Cue& cue) : w_(words), cue_(cue) {}

  std::optional<show::Finding> say() {
    time("--fade-in", w_.fade_in, cue_.fade_in), time("--fade-out", w_.fade_out, cue_.fade_out);
    time("--hold", w_.hold, cue_.hold), time("--pause", w_.pause, cue_.pause);
    text(w_.follow, cue_.follow), text(w_.key, cue_.key);
    if (w_.priority >= 0) cue_.priority = w_.priority;
    at_time(), at_clock(), deed();
    return problem_;
  }

 private:
  void time(const char* option, const std::string& text, show::Time& into) {
    if (text.empty() || problem_) return;
    const auto read = time_of(text, option);
    if (read) into = *read;
    else problem_ = read.problem();
  }
  static void text(const std::string& said, std::string& into) {
    if (!said.empty()) into = said == "-" ? "" : said;
  }
  void at_time() {
    if (w_.at_time == "-") return cue_.at_time.reset();
    if (w_.at_time.empty()) return;
    show::Time at{0};
    time("--at-time", w_.at_time, at);
    cue_.at_time = at;
  }
  void at_clock() {
    if (w_.at_clock == "-") return cue_.at_clock.reset();
    if (w_.at_clock.empty() || problem_) return;
    cue_.at_clock = show::parse_clock(w_.at_clock);
    if (!cue_.at_clock) problem_ = refused("", "--at-clock", "'" + w_.at_clock + "' is no time of day", "Give hours, minutes and seconds, as in 09:30:00.");
  }
  void deed() {
    if (!w_.clip.empty()) cue_.deed = show::CueClip{w_.clip, w_.loops};
    if (!w_.pose.empty()) cue_.deed = show::CuePose{w_.pose, w_.weight};
    if (!w_.stretch.empty()) cue_.deed = show::CueStretch{w_.stretch[0], w_.stretch[1]};
    if (!w_.choice.empty()) cue_.deed = show::CueChoice{w_.choice, w_.seed};
    if (w_.stop) cue_.deed = show::CueStop{};
    if (w_.state.empty()) return;
    const std::size_t colon = w_.state.find(':');
    if (colon == w_.state.npos && !problem_) problem_ = refused("", "--state", "'" + w_.state + "' names no auxiliary and state", "Give both with a colon between, as in lamp:on.");
    else cue_.deed = show::CueState{w_.state.substr(0, colon), w_.state.substr(colon + 1)};
  }

  const CueWords& w_;
  Cue& cue_;
  std::optional<show::Finding> problem_;
};

}  // namespace

int run_cue_list(const CueWords& words) {
  const auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  const int code = tell(loaded->notes);
  print_cues(*loaded->show, words.json);
  return code;
}

int run_cue_add(const CueWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (show::cue_index(e.show.cues, words.name) >= 0) return refused(words.show, "", "the show has a cue '" + words.name + "' already", "Change it with 'mien cue change', or give the new one another name.");
    if (words.clip.empty() && words.pose.empty() && words.stretch.empty() && words.state.empty() && words.choice.empty() && !words.stop)
      return refused(words.show, "", "nothing says what cue '" + words.name + "' does", "Give --clip, --pose, --stretch, --state, --choice or --stop.");
    Cue cue;
    cue.name = words.name;
    if (const auto problem = Saying(words, cue).say()) return *problem;
    e.show = show::with_cue(e.show, cue);
    return "cue '" + cue.name + "': " + show::to_text(cue.deed);
  });
}

int run_cue_change(const CueWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    const int n = show::cue_index(e.show.cues, words.name);
    if (n < 0) return no_cue(e.show, words.show, words.name);
    Cue cue = e.show.cues[static_cast<std::size_t>(n)];
    if (const auto problem = Saying(words, cue).say()) return *problem;
    e.show = show::with_cue(e.show, cue);
    if (words.place > 0) e.show = show::with_cue_at(e.show, cue.name, static_cast<std::size_t>(words.place) - 1);
    if (words.now.empty()) return "cue '" + cue.name + "': " + show::to_text(cue.deed);
    if (words.now != cue.name && show::cue_index(e.show.cues, words.now) >= 0) return refused(words.show, "--name", "there is a cue '" + words.now + "' already", "Give it another name.");
    e.show = show::with_cue_renamed(e.show, cue.name, words.now);
    return "cue '" + cue.name + "' is '" + words.now + "' now";
  });
}

int run_cue_remove(const CueWords& words) {
  return edit_show(words.show, words.out, [&](Editing& e) -> show::Result<std::string> {
    if (show::cue_index(e.show.cues, words.name) < 0) return no_cue(e.show, words.show, words.name);
    e.show = show::without_cue(e.show, words.name);
    return "cue '" + words.name + "' is deleted";
  });
}

}  // namespace mien::app
