// mien play: a performance without a window.
#include <array>
#include <cstdio>
#include <functional>

#include "app/commands.hpp"
#include "app/hands.hpp"
#include "app/interrupt.hpp"
#include "app/network.hpp"
#include "app/stage.hpp"
#include "app/text.hpp"
#include "link/session.hpp"
#include "perform/feedback_side.hpp"
#include "perform/inputs.hpp"
#include "perform/performer.hpp"
#include "perform/rig_check.hpp"
#include "show/text.hpp"
#include "store/take_store.hpp"
#include "threads/day.hpp"
#include "threads/steady.hpp"

namespace mien::app {
namespace {

constexpr int kGreetMost_ms = 10'000, kArmMost_ms = 5'000, kCreepMost_ms = 10'000, kRestMost_ms = 8'000;

// Waits in short steps until `done`; false when it takes too long or a person interrupts.
bool wait_until(int most_ms, const std::function<bool()>& done) {
  for (int waited = 0; waited < most_ms; waited += 10) {
    if (done()) return true;
    if (wait_ms(10)) return false;
  }
  return done();
}

std::string trouble_of(const link::Status& link) { return link.trouble ? show::to_text(*link.trouble) : ""; }

class Performance {
 public:
  Performance(const PlayWords& words, const store::Loaded& loaded)
      : words_(words), devices_(inlet_), others_(words.network, inlet_, devices_), session_(*loaded.rig, {.resume_within_s = words.resume_within_s}), player_(words.mute), performer_(&session_, &player_, &inlet_), show_(loaded.show), rig_(loaded.rig) {
    inputs_.set_rig(rig_);
    devices_.only(words.hands.midi);
  }

  /// What is wrong with the hands that were asked for, where something is.
  std::optional<show::Finding> prepare() {
    if (auto why = senseless(words_.hands)) return why;
    if (auto why = others_.read()) return why;
    auto spare = spared(words_.hands, *rig_);
    if (!spare) return spare.problem();
    spared_ = std::move(*spare);
    if (words_.wait_input && rig_->inputs.empty() && !others_.may_start())
      return show::Finding{show::Severity::error, store::rig_path(words_.show, *show_).string(), "inputs", "The rig names no inputs, so nothing could start the show",
                           "Name one in the rig, let OSC start it with --osc, or leave --wait-input out"};
    live::HandProgramPtr program;
    if (!words_.hands.map.empty() || others_.any()) {
      auto hands = hands_for(words_.hands, rig_, show_, devices_);
      if (!hands) return hands.problem();
      tell(hands->notes);
      hands_ = std::move(*hands);
      program = hands_->program;
      devices_.poll();
      feedback_.emplace();
      feedback_->set(program, devices_.names());
    }
    show::Findings notes;
    if (auto why = others_.open(hands_ ? hands_->addresses : std::vector<std::string>{}, notes)) return why;
    tell(notes);
    if (const auto now = others_.status(); !words_.json) {
      if (now.osc) std::printf("OSC is heard at %s; it may touch %s\n", live::to_text(now.osc_at).c_str(), others_.may().c_str());
      if (now.sacn) std::printf("sACN universe %d is heard at %s\n", words_.network.sacn, live::to_text(now.sacn_at).c_str());
      std::fflush(stdout);
    }
    performer_.publish(perform::compile(rig_, show_, nullptr, program));
    return std::nullopt;
  }

  int run(std::vector<sound::Placed> sounds) {
    if (!player_.silent()) player_.set_sounds(std::move(sounds));
    if (const auto why = player_.silent_because(); why && !words_.mute) tell(*why);
    session_.open(words_.port);
    if (!wait_until(kGreetMost_ms, [&] { return session_.status().state == link::State::ready; })) return give_up("the boards did not answer");
    session_.arm();
    if (!wait_until(kArmMost_ms, [&] { return session_.status().state == link::State::armed; })) return give_up("the boards could not be armed");
    if (!words_.json) std::printf("armed on %s; the head creeps to the first pose\n", words_.port.c_str());
    if (!wait_until(kCreepMost_ms, [&] { return performer_.latest().mode == perform::Mode::live; })) return give_up("the head did not reach the first pose");

    const auto whole = show::Range{show::Time{0}, show_->length};
    if (words_.loop) performer_.set_loop(show_->loop.value_or(whole));
    if (others_.follows()) others_.follow(performer_);
    if (words_.cues) wait_for_cues();
    else if (others_.follows()) {}  // its time plays the show
    else if (!words_.wait_input) performer_.play();
    else if (!words_.json) std::printf("waiting for an input of the rig, or OSC where it may\n"), std::fflush(stdout);
    if (!words_.hands.record.empty()) takes_.emplace(*hands_->program, spared_), performer_.record(true);
    perform();
    performer_.record(false);
    performer_.pause();
    const bool kept = keep_takes();
    const link::Status end = session_.status();
    interrupted() ? session_.stop() : session_.disarm();
    wait_until(kRestMost_ms, [&] { return session_.status().state != link::State::armed && session_.status().state != link::State::disarming; });
    summary(session_.status());
    const bool clean = end.frames_refused == 0 && end.times_lost == 0 && end.state == link::State::armed;
    return clean && kept ? kFine : kFindings;
  }

 private:
  // Devices are looked for once a second; what the script says is due is said; the tape is wound up before it is full.
  void look_after_hands(std::int64_t now_ns) {
    if (!hands_) return;
    if (now_ns >= look_ns_) {
      look_ns_ = now_ns + 1'000'000'000;
      devices_.poll();  // a device that is new but not in the map needs no new program
      tell_devices();
    }
    for (; said_ < hands_->script.size() && hands_->script[said_].at_ns <= now_ns; ++said_) {
      live::Touch touch = hands_->script[said_];
      touch.at_ns = threads::steady_ns();
      inlet_.push(touch);
    }
    for (live::TakeTick tick; performer_.take(tick);)
      if (takes_) takes_->add(tick);  // the program is the same all along
  }

  void wait_for_cues() {
    performer_.set_cues_live(true);
    if (!words_.first_cue.empty()) performer_.start_cue(words_.first_cue);
    if (!words_.json) std::printf("waiting for cues\n"), std::fflush(stdout);
  }

  // A line for each that begins or ends; the time of day, which the performing thread can't ask for, once a minute.
  void follow_cues(const perform::Report& report, std::int64_t now_ns) {
    if (now_ns >= day_ns_) day_ns_ = now_ns + 60'000'000'000, performer_.set_day(threads::time_of_day_ns());
    for (std::size_t n = 0; n < show_->cues.size() && n < phases_.size(); ++n) {
      const auto now = report.cues.cue[n].phase;
      if (now == phases_[n]) continue;
      begun_ += now == perform::CuePhase::playing;
      if (!words_.json) std::printf("            cue %s: %s\n", show_->cues[n].name.c_str(), perform::name(now)), std::fflush(stdout);
      phases_[n] = now;
    }
  }

  void tell_devices() {
    if (words_.json) return;
    const auto seen = devices_.seen();
    for (std::size_t n = 0; n < seen.size(); ++n) {
      if (there_.size() <= n) there_.push_back(false);
      if (there_[n] != seen[n].there) std::printf("            %s %s\n", seen[n].name.c_str(), seen[n].there ? "is heard" : "was unplugged"), std::fflush(stdout);
      there_[n] = seen[n].there;
    }
  }

  bool keep_takes() {
    if (!takes_) return true;
    look_after_hands(0);
    const auto takes = takes_->takes();
    if (const auto problem = store::save_takes(words_.hands.record, takes)) return tell(*problem), false;
    if (!words_.json) std::printf("%zu %s in %s\n", takes.size(), takes.size() == 1 ? "take is" : "takes are", words_.hands.record.c_str());
    return true;
  }

  void perform() {
    const std::int64_t began = threads::steady_ns();
    const std::int64_t most_ns = words_.for_s > 0 ? static_cast<std::int64_t>(words_.for_s * 1e9) : INT64_MAX;
    for (std::int64_t line_ns = 1'000'000'000; !interrupted();) {
      const std::int64_t now = threads::steady_ns() - began;
      const auto& report = performer_.latest();
      if (now >= most_ns || (now > 100'000'000 && !report.playing && !words_.wait_input && !words_.cues && !others_.follows())) break;
      obey_inputs();
      if (feedback_) perform::tell(*feedback_, report);
      look_after_hands(now);
      look_after_others();
      if (words_.cues) follow_cues(report, now);
      if (now >= line_ns) {
        if (!words_.json) line(report, session_.status());
        line_ns += 1'000'000'000;
      }
      wait_ms(5);
    }
  }

  void look_after_others() {
    const link::Status link = session_.status();
    const bool armed = link.state == link::State::armed;
    for (const auto& line : others_.look(performer_, *show_, {armed, armed && !link.trouble}))
      if (!words_.json) std::printf("            %s\n", line.c_str()), std::fflush(stdout);
  }

  /// While a board is away or the link is down, inputs are looked at but nothing is done for them.
  void obey_inputs() {
    if (rig_->inputs.empty()) return;
    const link::Status link = session_.status();
    for (const int n : inputs_.look(link, threads::steady_ns())) {
      const show::Input& input = rig_->inputs[static_cast<std::size_t>(n)];
      if (link.state != link::State::armed) continue;
      const auto order = perform::order_of(input, *rig_, *show_, performer_.latest().playing);
      using Do = perform::Order::Do;
      if (order.what == Do::play) performer_.play();
      if (order.what == Do::stop) performer_.stop();
      if (order.what == Do::play_from) performer_.seek(order.from), performer_.play();
      if (order.what == Do::set_state) performer_.set_state(order.auxiliary, order.value);
      if (order.what == Do::start_cue) performer_.start_cue(order.cue);
      if (!words_.json) std::printf("            input %s: %s%s\n", input.name.c_str(), perform::to_text(input.action).c_str(), order.what == Do::nothing ? ": nothing to do" : ""), std::fflush(stdout);
    }
  }

  void line(const perform::Report& report, const link::Status& link) {
    const auto& late = report.lateness;
    std::printf("%8.3f s  sent %llu  acknowledged %llu  late p50 %.0f p99 %.0f max %.0f us  %s\n", show::to_seconds(report.time),
                static_cast<unsigned long long>(link.frames_sent), static_cast<unsigned long long>(link.frames_acknowledged), late.p50_us,
                late.p99_us, late.max_us, std::string(name(link.state)).c_str());
    if (link.trouble) std::printf("            %s\n", trouble_of(link).c_str());
    if (link.state == link::State::ready) std::printf("            the head moves no more until the performance is begun anew\n");  // nobody here arms it again
    if (const auto others = others_.line(report); !others.empty()) std::printf("            %s\n", others.c_str());
    std::fflush(stdout);
  }

  void summary(const link::Status& link) {
    const auto& report = performer_.latest();
    const auto& late = report.lateness;
    if (words_.json) {
      Json json;
      json.open_object().member("show", words_.show).member("port", words_.port).member("time_s", show::to_seconds(report.time))
          .member("frames_sent", double(link.frames_sent)).member("frames_acknowledged", double(link.frames_acknowledged))
          .member("frames_refused", double(link.frames_refused)).member("frames_dropped", double(link.frames_dropped))
          .member("times_lost", double(link.times_lost)).member("round_trip_us", link.round_trip_us).member("link", name(link.state))
          .member("lateness_p50_us", late.p50_us).member("lateness_p99_us", late.p99_us).member("lateness_max_us", late.max_us)
          .member("ticks", double(late.ticks)).member("ticks_missed", double(late.missed)).member("realtime", late.realtime)
          .member("silent", player_.silent()).member("follows", name(report.followed.state)).member("osc_touches", double(others_.status().osc_counts.touches))
          .member("sacn_touches", double(others_.status().sacn_counts.touches));
      if (words_.cues) json.member("cues_begun", double(begun_));
      json.close();
      std::printf("%s\n", json.text().c_str());
      return;
    }
    std::printf("performed %.3f s; %llu frames sent, %llu acknowledged, %llu refused, %llu dropped; link lost %u times\n",
                show::to_seconds(report.time), static_cast<unsigned long long>(link.frames_sent),
                static_cast<unsigned long long>(link.frames_acknowledged), static_cast<unsigned long long>(link.frames_refused),
                static_cast<unsigned long long>(link.frames_dropped), link.times_lost);
    std::printf("%llu ticks, %llu missed; late p50 %.0f p99 %.0f max %.0f us; %s\n", static_cast<unsigned long long>(late.ticks),
                static_cast<unsigned long long>(late.missed), late.p50_us, late.p99_us, late.max_us,
                late.realtime ? "real-time priority" : "ordinary priority (the system gave no real-time priority)");
  }

  int give_up(const char* what) {
    const link::Status link = session_.status();
    session_.stop();
    if (interrupted()) return kFindings;
    if (link.trouble) return tell(*link.trouble), kUnusable;
    return tell({show::Severity::error, words_.port, "", what, "Check the board's supply and cable, then try again"});
  }

  const PlayWords& words_;
  live::Inlet inlet_;  // before those that use it
  live::Devices devices_;
  Others others_;
  std::optional<live::FeedbackOut> feedback_;
  std::optional<Hands> hands_;
  std::size_t said_ = 0;  // touches of the script
  std::int64_t look_ns_ = 0;
  std::optional<live::Takes> takes_;
  std::vector<std::string> spared_;  // controls that are not recorded
  std::vector<bool> there_;
  std::array<perform::CuePhase, show::kMaxCues> phases_{};
  std::int64_t day_ns_ = 0;
  std::uint64_t begun_ = 0;
  link::Session session_;
  sound::Player player_;
  perform::Performer performer_;
  show::ShowPtr show_;
  store::RigPtr rig_;
  perform::InputWatch inputs_;
};

int play(const PlayWords& words) {
  interrupt();
  auto loaded = store::load_show(words.show);
  if (!loaded) return tell(loaded.problem());
  show::Findings notes = loaded->notes;
  if (const auto refused = perform::refusal(*loaded->rig, store::rig_path(words.show, *loaded->show).string(), notes)) return tell(*refused);
  auto sounds = words.mute ? std::vector<sound::Placed>{} : sounds_of(*loaded->show, std::filesystem::path(words.show).parent_path(), notes);
  tell(notes);
  if (!words.json && !words.port.starts_with("sim:"))
    std::printf("Servos on %s are about to move. Keep fingers, hair and tools clear; Ctrl-C stops.\n", words.port.c_str());
  if (words.cues && loaded->show->cues.empty())
    return tell({show::Severity::error, words.show, "cues", "The show has no cues, so nothing could be asked for", "Add some with 'mien cue add', or leave --cues out"});
  if (!words.first_cue.empty() && (!words.cues || show::cue_index(loaded->show->cues, words.first_cue) < 0)) {
    std::vector<std::string> known;
    for (const auto& cue : loaded->show->cues) known.push_back(cue.name);
    return tell({show::Severity::error, words.show, "--first", words.cues ? "the show has no cue '" + words.first_cue + "'" : "says what cue to begin with, but nothing waits for cues", words.cues ? show::suggestion(words.first_cue, known) : "Give --cues, too"});
  }
  Performance performance(words, *loaded);
  if (const auto wrong = performance.prepare()) return tell(*wrong);
  return performance.run(std::move(sounds));
}

}  // namespace

int run_play(const PlayWords& words) { return play(words); }

}  // namespace mien::app
