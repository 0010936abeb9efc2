#include "perform/arrive.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "show/text.hpp"

namespace mien::perform {
namespace {

using show::Easing;
using show::Time;
using Keys = std::vector<show::Keyframe>;

constexpr int kPasses = 12;             // mending one key may show what is wrong with the next; a few passes settle it
constexpr int kMostTries = 3;           // at one key
constexpr int kMostTicks = 300;         // by which a key moves at most
constexpr int kParts = 1000;            // into which a reach is divided
constexpr int kEaseSaves = 3;           // ticks, or
constexpr int kEaseSavesParts = 100;    // parts of the reach: what another easing must save to be worth its change
constexpr Time kLeadIn = std::chrono::milliseconds(700);  // performed before and after what is looked at

// The least n in [1, most] for which works(n) holds, taking it for true from there on; 0 where it doesn't hold at `most`.
template <class Works>
int least(int most, Works works) {
  int below = 0, above = 1;
  while (above < most && !works(above)) below = above, above = std::min(2 * above, most);
  if (above >= most && (most < 1 || !works(most))) return 0;
  while (above - below > 1) {
    const int middle = below + (above - below) / 2;
    (works(middle) ? above : below) = middle;
  }
  return above;
}

bool hard(const Easing& easing) noexcept { return easing.kind == Easing::Kind::linear || (easing.kind == Easing::Kind::bezier && easing != show::kEaseInOut); }

// The move to key k with its start at `at`, which lies before it. A jump becomes an eased move: from a key put in where it holds until then.
// Returns where key k is now.
std::size_t depart(Keys& keys, std::size_t k, Time at, bool ease) {
  auto& before = keys[k - 1];
  if (before.easing.kind == Easing::Kind::hold && at > before.time) {
    keys.insert(keys.begin() + static_cast<std::ptrdiff_t>(k), {at, before.value, show::kEaseInOut});
    return k + 1;
  }
  if (ease || before.easing.kind == Easing::Kind::hold) before.easing = show::kEaseInOut;
  before.time = at;
  return k;
}

// A value that a person can read, far finer than any servo.
double neat(double value) noexcept { return std::round(value * 1e6) / 1e6; }

// Brings the keys of one standing value, around key k, nearer to `toward`.
void lessen(Keys& keys, std::size_t k, double toward, double share) noexcept {
  const double stood = keys[k].value, value = neat(toward + share * (stood - toward));
  for (std::size_t i = k; i < keys.size() && keys[i].value == stood; ++i) keys[i].value = value;
  for (std::size_t i = k; i > 0 && keys[i - 1].value == stood; --i) keys[i - 1].value = value;
}

class Mender {
 public:
  Mender(PlanPtr plan, std::vector<Change>& changes) : plan_(std::move(plan)), changes_(changes) {}
  const PlanPtr& plan() const noexcept { return plan_; }

  /// Returns whether it changed something. only_less: where no other remedy would do.
  bool mend(const Shortfall& s, bool only_less) {
    if (s.control < 0 || s.cause == Cause::out_of_sync) return false;
    control_ = s.control;
    const auto* channel = plan_->channel_of[static_cast<std::size_t>(control_)];
    if (!channel) return false;
    keys_ = channel->keys;
    const auto at = std::find_if(keys_.begin(), keys_.end(), [&](const auto& key) { return key.time == s.key; });
    if (at == keys_.end()) return false;
    k_ = static_cast<std::size_t>(at - keys_.begin());
    tail_ = kLeadIn + s.range.length();
    rest_ = plan_->control_rest[static_cast<std::size_t>(control_)];
    if (s.cause == Cause::clipped) return !within_travel(keys_) && reach_within_travel();
    beyond_ = 0;
    if (k_ == 0 || arrives(keys_, k_)) return false;
    // What a constraint or a rail holds back may be in time if it starts earlier or reaches less; to calm its channel would not move what is in
    // its way.
    const bool by_itself = s.cause == Cause::late;
    // A key that comes back again and again only passes its trouble to its neighbours.
    if (++tried_[{control_, s.key}] > kMostTries) return by_itself && calm();
    if (mend_key(only_less)) return true;
    if (only_less || !by_itself) return false;
    // Nothing helps here: it may be the key before at which the curve turns too sharply,
    if (k_ > 1) {
      --k_, ++beyond_;
      if (mend_key(false)) return true;
      ++k_, beyond_ = 0;
    }
    return calm();  // or several keys that are too much together
  }

 private:
  bool mend_key(bool only_less) {
    for (auto remedy : {&Mender::eased, &Mender::earlier, &Mender::later}) {
      auto made = (this->*remedy)();
      if (!made) continue;
      if (!only_less) accept(*made);
      return !only_less;
    }
    auto made = less();
    if (made) accept(*made);
    return made.has_value();
  }

  struct Made {
    Keys keys;
    Remedy remedy;
    double amount;
    int steps;  // of the bisection: the fewer, the smaller the change
  };
  using Maybe = std::optional<Made>;

  double tick_ms() const noexcept { return show::to_seconds(plan_->tick) * 1e3; }
  Easing::Kind leaving() const noexcept { return keys_[k_ - 1].easing.kind; }
  bool jumps() const noexcept { return leaving() == Easing::Kind::hold; }
  bool may_ease() const noexcept { return hard(keys_[k_ - 1].easing); }
  // Where the move starts, and the earliest at which it might: within a stand before it.
  Time start() const noexcept { return jumps() ? keys_[k_].time : keys_[k_ - 1].time; }
  Time earliest() const noexcept {
    const bool stands = k_ == 1 || keys_[k_ - 2].value == keys_[k_ - 1].value;
    if (!stands) return keys_[k_ - 1].time;
    return k_ == 1 ? std::min(Time{0}, keys_[0].time) : std::min(keys_[k_ - 2].time + plan_->tick, keys_[k_ - 1].time);
  }
  Time earlier_by(int ticks) const noexcept { return std::max(start() - ticks * plan_->tick, earliest()); }
  int room() const noexcept {
    const auto whole = (start() - earliest() + plan_->tick - Time{1}) / plan_->tick;  // the last one may be a part of a tick
    return static_cast<int>(std::min<std::int64_t>(whole, kMostTicks));
  }

  show::ShowPtr with(const Keys& keys) const {
    auto show = std::make_shared<show::Show>(*plan_->show);
    for (auto& channel : show->channels)
      if (channel.get() == plan_->channel_of[static_cast<std::size_t>(control_)]) channel = std::make_shared<show::Channel>(show::Channel{channel->control, keys});
    return show;
  }

  // Nothing to find that a key of the channel after `from` and up to `to` asks for.
  bool clean(const Keys& keys, Time from, Time to, bool clipped) const {
    const auto plan = compile(plan_->rig, with(keys), plan_.get());
    const Study found = study(*plan, show::Range{from - kLeadIn, to + tail_});
    const auto of_channel = found.of(control_);
    return std::none_of(of_channel.begin(), of_channel.end(), [&](const Shortfall& s) {
      return s.cause != Cause::out_of_sync && (s.cause == Cause::clipped) == clipped && s.key > from && s.key <= to;
    });
  }
  bool arrives(const Keys& keys, std::size_t k) const { return clean(keys, keys[k - 1].time, keys[k + beyond_].time, false); }

  bool within_travel(const Keys& keys) const { return clean(keys, keys[k_].time - Time{1}, keys[k_].time, true); }

  Maybe eased() {
    if (jumps() || !may_ease()) return {};
    Keys keys = keys_;
    depart(keys, k_, start(), true);
    if (!arrives(keys, k_)) return {};
    return Made{std::move(keys), Remedy::eased, 0, 0};  // no key moves: nothing could be smaller
  }

  // The same remedy with the easing as it is and with a softer one: the softer where it saves enough to be worth it.
  template <class Try>
  Maybe better(Try attempt, int saves) {
    Maybe as_is = attempt(false);
    if (jumps() || !may_ease() || (as_is && as_is->steps <= saves)) return as_is;
    Maybe soft = attempt(true);
    return soft && (!as_is || soft->steps + saves < as_is->steps) ? std::move(soft) : std::move(as_is);
  }

  Maybe earlier() {
    return better([this](bool ease) -> Maybe {
      const auto moved = [&](int ticks, std::size_t& k) {
        Keys keys = keys_;
        k = depart(keys, k_, earlier_by(ticks), ease);
        return keys;
      };
      std::size_t k = 0;
      const int ticks = least(room(), [&](int n) { const Keys keys = moved(n, k); return arrives(keys, k); });
      if (ticks == 0) return {};
      return Made{moved(ticks, k), Remedy::earlier, show::to_seconds(start() - earlier_by(ticks)) * 1e3, ticks};
    }, kEaseSaves);
  }

  Maybe later() {
    const bool last = k_ + 1 == keys_.size();
    const bool stands = last || keys_[k_ + 1].value == keys_[k_].value || keys_[k_].easing.kind == Easing::Kind::hold;
    if (!stands || !(std::abs(keys_[k_].value - rest_) < std::abs(keys_[k_ - 1].value - rest_))) return {};
    const Time end = last ? plan_->show->length : keys_[k_ + 1].time - plan_->tick;
    const int most = static_cast<int>(std::min<std::int64_t>(std::max<std::int64_t>(0, (end - keys_[k_].time) / plan_->tick), kMostTicks));
    return better([&, this](bool ease) -> Maybe {
      const auto moved = [&](int ticks, std::size_t& k) {
        Keys keys = keys_;
        k = depart(keys, k_, start(), ease);
        keys[k].time += ticks * plan_->tick;
        return keys;
      };
      std::size_t k = 0;
      const int ticks = least(most, [&](int n) { const Keys keys = moved(n, k); return arrives(keys, k); });
      if (ticks == 0) return {};
      return Made{moved(ticks, k), Remedy::later, ticks * tick_ms(), ticks};
    }, kEaseSaves);
  }

  Maybe less() {
    return better([this](bool ease) -> Maybe {
      const auto lowered = [&](int parts_less, std::size_t& k) {
        Keys keys = keys_;
        k = depart(keys, k_, earlier_by(room()), ease);
        const bool from_afar = std::abs(keys[k - 1].value - rest_) > std::abs(keys[k].value - rest_);
        lessen(keys, from_afar ? k - 1 : k, keys[from_afar ? k : k - 1].value, 1 - static_cast<double>(parts_less) / kParts);
        return keys;
      };
      std::size_t k = 0;
      const int parts = least(kParts - 1, [&](int n) { const Keys keys = lowered(n, k); return arrives(keys, k); });
      if (parts == 0) return {};
      return Made{lowered(parts, k), Remedy::less, 1 - static_cast<double>(parts) / kParts, parts};
    }, kEaseSavesParts);
  }

  bool reach_within_travel() {
    const auto lowered = [&](int parts_less) {
      Keys keys = keys_;
      lessen(keys, k_, rest_, 1 - static_cast<double>(parts_less) / kParts);
      return keys;
    };
    const int parts = least(kParts, [&](int n) { return within_travel(lowered(n)); });
    if (parts == 0) return false;
    accept({lowered(parts), Remedy::less, 1 - static_cast<double>(parts) / kParts, parts});
    return true;
  }

  // Brings the keys on both sides nearer to this one, and eases between them: as few keys as will do. All of them at one value are a channel
  // that stands, so there is an answer.
  bool calm() {
    const std::size_t last = keys_.size() - 1;
    for (std::size_t reach = 1;; reach *= 2) {
      const std::size_t first_key = k_ > reach ? k_ - reach : 0, last_key = std::min(k_ + reach, last);
      const auto calmed = [&](int parts_less) {
        Keys keys = keys_;
        for (std::size_t i = first_key; i <= last_key; ++i) {
          keys[i].value = neat(keys_[k_].value + (1 - static_cast<double>(parts_less) / kParts) * (keys_[i].value - keys_[k_].value));
          if (hard(keys[i].easing)) keys[i].easing = show::kEaseInOut;
        }
        return keys;
      };
      const Time from = first_key == 0 ? keys_[0].time - Time{1} : keys_[first_key - 1].time, to = keys_[std::min(last_key + 1, last)].time;
      const int parts = least(kParts, [&](int n) { return clean(calmed(n), from, to, false); });
      if (parts > 0) {
        accept({calmed(parts), Remedy::less, 1 - static_cast<double>(parts) / kParts, parts});
        return true;
      }
      if (first_key == 0 && last_key == last) return false;
    }
  }

  void accept(const Made& made) {
    changes_.push_back({control_, keys_[k_].time, made.remedy, made.amount});
    plan_ = compile(plan_->rig, with(made.keys), plan_.get());
  }

  PlanPtr plan_;
  std::vector<Change>& changes_;
  std::map<std::pair<int, Time>, int> tried_;
  // Of the shortfall that is being mended:
  int control_ = 0;
  Keys keys_;
  std::size_t k_ = 0, beyond_ = 0;  // the key, and how many after it must arrive, too
  double rest_ = 0;
  Time tail_{0};
};

}  // namespace

Arrival make_it_arrive(const PlanPtr& plan, const Study& found, std::optional<std::size_t> which, const std::function<bool(double)>& progress) {
  Arrival result;
  Mender mender(plan, result.changes);
  std::vector<Shortfall> left = found.shortfalls;
  if (which) left = *which < left.size() ? std::vector{left[*which]} : std::vector<Shortfall>{};
  // Reaches that nothing else can mend come first: with less to do there, the moves around them have it easier.
  for (int pass = which ? 1 : 0; pass < kPasses && !left.empty() && !result.stopped; ++pass) {
    std::sort(left.begin(), left.end(), [](const auto& a, const auto& b) { return a.range.begin < b.range.begin; });
    bool changed = false;
    for (std::size_t n = 0; n < left.size() && !result.stopped; ++n) {
      result.stopped = progress && !progress((pass + static_cast<double>(n) / static_cast<double>(left.size())) / kPasses);
      if (!result.stopped) changed |= mender.mend(left[n], pass == 0);
    }
    if (which || (!changed && pass > 0)) break;
    if (changed) left = study(*mender.plan()).shortfalls;
  }
  result.show = *mender.plan()->show;
  if (!result.stopped) {
    result.study = study(*mender.plan());
    if (progress) progress(1);
  }
  return result;
}

const char* name(Remedy remedy) noexcept {
  switch (remedy) {
    case Remedy::eased: return "eased";
    case Remedy::earlier: return "earlier";
    case Remedy::later: return "later";
    case Remedy::less: break;
  }
  return "less";
}

bool same_trouble(const Shortfall& one, const Shortfall& other) noexcept {
  return one.cause == other.cause && one.control == other.control && one.actuator == other.actuator && one.key == other.key;
}

std::string to_text(const Plan& plan, const Change& change) {
  const std::string place = "channel '" + plan.rig->controls[static_cast<std::size_t>(change.control)].name + "', " + show::seconds_text(change.key) + " s: ";
  const std::string ms = show::number_text(std::round(change.amount)) + " ms ";
  switch (change.remedy) {
    case Remedy::eased: return place + "the move to it eases in and out";
    case Remedy::earlier: return place + "the move to it starts " + ms + "earlier";
    case Remedy::later: return place + "arrives " + ms + "later";
    case Remedy::less: break;
  }
  return place + "reaches " + show::number_text(std::round(change.amount * 1000) / 10) + " % as far";
}

}  // namespace mien::perform
