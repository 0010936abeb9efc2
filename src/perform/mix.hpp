// Layers on a tick: what lies on a show's channels, from the lowest layer up, mixed as show/layer.hpp says. Compiled once for each snapshot into a
// program of levels; what lasts from tick to tick is a value. Nothing here depends on where the last tick was: seeking finds the same bits.
#pragma once
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "motion/curve.hpp"
#include "perform/idle.hpp"
#include "show/show.hpp"

namespace mien::perform {

struct Mix {
  /// A channel that has a say in a control.
  struct Strand { int control; const show::Channel* channel; };
  /// A clip where it is placed: [begin, end) of show time, read in the clip's time.
  struct Placed {
    show::Time begin, end, offset, clip_length;
    std::int64_t total_ns;  ///< of the clip with its repeats
    double rate, weight;
    const show::Channel* envelope;  ///< its fades, over show time; null where it has none
    int first_strand, end_strand;
  };
  /// Placements that never overlap, in rising time: they share cursors, so that there are as many as sound together.
  struct Lane { int first, end, first_cursor; };
  struct Level {
    int layer;  ///< of the show
    bool adds;
    double weight;
    show::Channel weight_curve;  ///< empty: the weight is constant
    int weight_cursor;
    int first_own, end_own, own_cursor;  ///< the layer's own channels, a cursor each
    int first_lane, end_lane;
    std::optional<Idle> idle;
    std::vector<int> idle_control;  ///< by slot of the idle life; -1: masked
    int idle_state;
    std::vector<int> controls;      ///< all that it has a say in
  };
  std::vector<Level> levels;
  std::vector<Strand> strands;
  std::vector<Placed> placed;
  std::vector<Lane> lanes;
  std::vector<show::ChannelPtr> envelopes;
  int cursors = 0, idles = 0;
  std::vector<char> stepped;  ///< by control: it has states, which don't mix

  bool touches(int control) const noexcept;
  /// The topmost of the show's layers that has a say in the control; -1: none.
  int layer_on(int control) const noexcept;
};

/// The layers that are not muted. Null where none of them does anything. What is not known or
/// can't be (a rate of 0) is left out. Keep the show: the program points into its channels.
std::shared_ptr<const Mix> mix_of(const show::Rig& rig, const show::Show& show, const RigMap& map);

struct MixState {
  std::vector<motion::Cursor> cursors;
  std::vector<int> placed_in;  ///< by lane: whose strands its cursors follow; -1: none yet
  std::vector<IdleState> idle;
};

/// Makes room and points cursors at what stays; allocates. A null mix empties the state.
void load(MixState& state, const Mix* mix, const motion::Shapes* shapes, std::span<const double> rest);
/// Changes `control`, by control index, which holds what the show's own channels have. `life`: the time of idle life, which is t unless life goes on while the show
/// stands. Allocates nothing.
void mix(const Mix& program, MixState& state, const motion::Shapes* shapes, std::span<const double> rest, show::Time t, show::Time life, double* control) noexcept;
inline void mix(const Mix& program, MixState& state, const motion::Shapes* shapes, std::span<const double> rest, show::Time t, double* control) noexcept {
  mix(program, state, shapes, rest, t, t, control);
}

}  // namespace mien::perform
