#include "perform/bake.hpp"

#include <algorithm>
#include <cmath>

#include "board/baked.hpp"
#include "link/peer.hpp"
#include "perform/bake_image.hpp"
#include "perform/render.hpp"

namespace mien::perform {
namespace {

constexpr int kReturnMost_s = 30;  // no linkage takes longer at any sensible limit
constexpr double kThere_deg = 1e-6;

Pulses pulses_of(const Plan& plan, const Tick& tick) {
  Pulses pulses{};
  for (int a = 0; a < plan.actuators(); ++a) pulses[static_cast<std::size_t>(a)] = pulse_of(plan, a, tick.setpoint_deg[static_cast<std::size_t>(a)]);
  return pulses;
}

Values values_of(const Plan& plan, const Tick& tick) {
  Values values{};
  for (std::size_t n = 0; n < plan.auxiliary_control.size() && n < values.size(); ++n) values[n] = auxiliary_of(plan, static_cast<int>(n), tick.control);
  return values;
}

void record(const Plan& plan, const Tick& tick, Track& track) {
  track.ticks.push_back(pulses_of(plan, tick));
  track.values.push_back(values_of(plan, tick));
}

bool arrived(const Plan& plan, const Tick& tick) {
  for (int a = 0; a < plan.actuators(); ++a) {
    const auto i = static_cast<std::size_t>(a);
    if (!(std::abs(tick.setpoint_deg[i] - tick.allowed_deg[i]) <= kThere_deg)) return false;
  }
  return true;
}

/// Goes to the pose of the plan's show at its beginning; the ticks that this takes, none where the head stands there.
void go_to_beginning(const Plan& plan, Head& head, Track& track, show::Findings& notes) {
  load(head, plan);
  Tick out;
  for (int n = 0; n < kReturnMost_s * plan.rig->tick_hz; ++n) {
    tick(plan, head, show::Time{0}, 1, out);
    // One tick there ends the way, where there was a way: of servos, or of a lamp that is elsewhere.
    const bool there = arrived(plan, out), stood = n == 0 && (track.values.empty() || track.values.back() == values_of(plan, out));
    if (!there || !stood) record(plan, out, track);
    if (there) return;
  }
  notes.push_back({show::Severity::warning, "", "show " + plan.show->name, "Its first pose is not reached within 30 s of another",
                   "Look with mien check for what keeps the head from its first pose"});
}

void play_once(const Plan& plan, Head& head, Track& track) {
  Tick out;
  for (std::int64_t n = 0; n < tick_count(plan); ++n) {
    tick(plan, head, tick_time(plan, n), 1, out);
    record(plan, out, track);
  }
}

/// The show's loop without end: its way to the loop's end, and once more round where that is not the same as the first time.
Track looping_track(const Plan& plan, show::Findings& notes) {
  const show::Range loop = plan.show->loop.value_or(show::Range{show::Time{0}, plan.show->length});
  const auto ticks_in = [&](show::Time t) { return t.count() * plan.rig->tick_hz / 1'000'000'000; };
  const std::int64_t begin = ticks_in(loop.begin), end = ticks_in(loop.end), round = std::max<std::int64_t>(end - begin, 1);
  if (tick_time(plan, round) != loop.length())
    notes.push_back({show::Severity::note, "", "loop", "It is no whole number of ticks and was cut to " + std::to_string(round),
                     "Give the loop a length in whole ticks of the rig, if the difference matters"});
  Track track;
  render(plan, tick_time(plan, begin + 2 * round - 1), [&](const Tick& tick) {
    record(plan, tick, track);
    return true;
  });
  const auto first = track.ticks.begin() + begin;
  track.loop_from = static_cast<std::uint32_t>(begin + round);
  const auto told = track.values.begin() + begin;
  if (!std::equal(first, first + round, first + round, track.ticks.end()) || !std::equal(told, told + round, told + round, track.values.end())) return track;
  track.loop_from = static_cast<std::uint32_t>(begin);
  track.ticks.resize(static_cast<std::size_t>(begin + round)), track.values.resize(track.ticks.size());
  return track;
}

}  // namespace

Track show_track(const Plan& plan, const BakeSettings& settings, bool idle, show::Findings& notes) {
  const bool pauses = idle || settings.pause.end > show::Time{0};
  if (settings.loop && !pauses && plan.show->length > show::Time{0}) return looping_track(plan, notes);
  Track track;
  Head head;
  stand_at(head, plan, show::Time{0});
  play_once(plan, head, track);
  if (settings.loop || idle) go_to_beginning(plan, head, track, notes);
  return track;
}

Track idle_track(const Plan& plan, const Plan& idle, show::Findings& notes) {
  Head head;
  stand_at(head, plan, show::Time{0});
  Tick base;
  aim(plan, head, show::Time{0}, base);
  // What the clip says nothing of stays as the show begins.
  auto whole = std::make_shared<show::Show>(*idle.show);
  for (std::size_t c = 0; c < plan.channel_of.size(); ++c) {
    const std::string& control = plan.rig->controls[c].name;
    if ((plan.channel_of[c] || (plan.mix && plan.mix->touches(static_cast<int>(c)))) && !show::find_channel(*whole, control))
      whole->channels.push_back(std::make_shared<show::Channel>(show::Channel{control, {{show::Time{0}, base.control[c]}}}));
  }
  const PlanPtr clip = compile(plan.rig, whole);
  Track track;
  go_to_beginning(*clip, head, track, notes);
  play_once(*clip, head, track);
  go_to_beginning(plan, head, track, notes);
  return track;
}

std::size_t Bake::bytes() const noexcept {
  std::size_t sum = 0;
  for (const auto& board : boards) sum += board.image.size();
  return sum;
}

double Bake::bytes_per_actuator_second() const noexcept {
  return actuators > 0 && seconds > 0 ? static_cast<double>(bytes()) / actuators / seconds : 0;
}

namespace {

// Boards go through ticks that were laid out beforehand; a cue comes when somebody asks.
void note_cues(const Plan& plan, show::Findings& notes) {
  if (plan.show->cues.empty()) return;
  notes.push_back({show::Severity::note, "", "show " + plan.show->name + ", cues", "Boards that perform by themselves start no cues: only the show as it plays by itself was baked",
                   "What they should do then place on a layer, or in a show of its own given as idle life; or let a host perform the cues: mien play SHOW --cues"});
}

}  // namespace

show::Result<Bake> bake(const Plan& show, const std::vector<PlanPtr>& idle, const BakeSettings& settings) {
  Bake out;
  note_cues(show, out.notes);
  for (const auto& clip : idle) note_cues(*clip, out.notes);
  std::vector<Track> tracks{show_track(show, settings, !idle.empty(), out.notes)};
  for (const auto& clip : idle) tracks.push_back(idle_track(show, *clip, out.notes));
  for (const auto& track : tracks) out.ticks += static_cast<std::int64_t>(track.ticks.size());
  out.seconds = static_cast<double>(out.ticks) / show.rig->tick_hz;
  const std::uint32_t number = number_of(tracks);
  for (const auto& peer : link::peers_of(*show.rig)) {
    if (peer.misfit_in_rig) return *peer.misfit_in_rig;
    BakedBoard board{peer.name, peer.address, peer.limits.count, {}};
    board.image = image_of(peer, show.rig->tick_hz, tracks, settings, number);
    out.actuators += board.actuators;
    out.boards.push_back(std::move(board));
  }
  return out;
}

}  // namespace mien::perform
