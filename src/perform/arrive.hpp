// Makes a show arrive: changes the keys that the head can't follow, as little as it takes, so that what they ask for is met.
//
// For a move to key k that is too fast, the first of these that leaves nothing to find there, by the least amount that does:
//   eased    the segment eases out of the one key and into the other, where it was a line or a jump, at the same times
//   earlier  it starts earlier: the key before moves, where the channel stands still before it, or, where it holds and jumps, a key is put in
//   later    a return toward rest into a stand takes longer: its key moves later. Nothing is to be met on time there
//   less     the reach is less: of the two keys the one farther from the control's rest comes nearer to the other, with all that stand with it
// Where none of these will do, the keys around come nearer to it, as few as will do: in the end a channel that stands always arrives.
// What a constraint or a governed rail holds back gets the first four only: where they don't help, it is left to be found.
// And, for a target beyond the travel, less: the key comes nearer to rest. Amounts are found by bisection against study(), on the same
// tick as the performance; keys keep their order and their neighbours.
#pragma once
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "perform/plan.hpp"
#include "perform/study.hpp"

namespace mien::perform {

enum class Remedy : std::uint8_t { eased, earlier, later, less };
const char* name(Remedy remedy) noexcept;

struct Change {
  int control = 0;
  show::Time key{0};  ///< as it stood before this change; a channel may be changed there more than once
  Remedy remedy = Remedy::eased;
  double amount = 0;  ///< earlier, later: ms; less: the share of the reach that is left; eased: 0
  friend bool operator==(const Change&, const Change&) = default;
};

struct Arrival {
  show::Show show;              ///< shares every channel that was fine
  std::vector<Change> changes;  ///< in the order in which they were made
  Study study;                  ///< of the new show: what is left, since nothing feasible was found for it
  bool stopped = false;         ///< progress said so; `show` has the changes made until then and `study` is empty
};

/// `found` is the study of the plan's show. `which`: one of its shortfalls only, otherwise all. progress is told the share done, 0 to 1, and
/// says whether to go on.
Arrival make_it_arrive(const PlanPtr& plan, const Study& found, std::optional<std::size_t> which = {},
                       const std::function<bool(double)>& progress = {});

/// Whether two findings, of the show before and after a change perhaps, are the same trouble, whatever its size: cause, channel, actuator and key.
bool same_trouble(const Shortfall& one, const Shortfall& other) noexcept;

/// "channel 'blink_left', 1.2 s: starts 50 ms earlier".
std::string to_text(const Plan& plan, const Change& change);

}  // namespace mien::perform
