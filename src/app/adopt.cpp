// mien adopt: which boards a rig knows, which answer, and making those that answer the rig's own.
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string_view>

#include "app/commands.hpp"
#include "app/interrupt.hpp"
#include "app/text.hpp"
#include "link/session.hpp"
#include "store/stamp.hpp"
#include "store/store.hpp"

namespace mien::app {
namespace {

constexpr int kFirstMost_ms = 10'000, kOthersMost_ms = 3'000, kLook_ms = 20;

/// One place of the chain.
struct ChainPlace {
  std::size_t board = 0;  ///< in the rig
  std::string answers;    ///< the identity; empty: nobody, or one that tells none
  std::string firmware;
  std::string state;      ///< in words
  bool differs = false;   ///< from what the rig knows, and can be adopted
};

bool tells(const link::BoardStatus& board) { return board.answering && board.identity != 0; }

/// The places alone: boards are greeted whoever they are, and with no output told to any of them nothing can move.
show::Rig places_of(const show::Rig& rig) {
  show::Rig places;
  places.name = rig.name;
  places.boards = rig.boards;
  for (auto& board : places.boards) board.identity.clear();
  return places;
}

/// Until every board answered; shorter of patience with the others once one did.
link::Status greet(const show::Rig& rig, const std::string& port) {
  link::Session session(places_of(rig));
  session.open(port);
  int left_ms = kFirstMost_ms;
  for (bool any = false; left_ms > 0; left_ms -= kLook_ms) {
    auto status = session.status();
    if (!status.boards.empty() && std::all_of(status.boards.begin(), status.boards.end(), tells)) return status;
    if (!any && std::any_of(status.boards.begin(), status.boards.end(), tells)) any = true, left_ms = kOthersMost_ms;
    if (wait_ms(kLook_ms)) break;
  }
  return session.status();
}

std::string state_of(const show::Rig& rig, const show::Board& board, const std::string& answers) {
  if (answers.empty()) return "missing: it does not answer";
  if (board.identity == answers) return "as the rig knows it";
  for (const auto& other : rig.boards)
    if (other.identity == answers) return "swapped: board " + other.name + " stands in its place";
  return board.identity.empty() ? "new: the rig knows no identity" : "replaced: another board answers";
}

std::vector<ChainPlace> compare(const show::Rig& rig, const link::Status& status) {
  std::vector<ChainPlace> places;
  for (std::size_t i = 0; i < rig.boards.size(); ++i) {
    ChainPlace place{.board = i, .answers = {}, .firmware = {}, .state = {}};
    for (const auto& said : status.boards)
      if (said.name == rig.boards[i].name && tells(said)) place.answers = link::identity_text(said.identity), place.firmware = said.firmware;
    place.state = state_of(rig, rig.boards[i], place.answers);
    place.differs = !place.answers.empty() && place.answers != rig.boards[i].identity;
    places.push_back(std::move(place));
  }
  std::sort(places.begin(), places.end(), [&](const ChainPlace& a, const ChainPlace& b) { return rig.boards[a.board].address < rig.boards[b.board].address; });
  return places;
}

void print_places(const show::Rig& rig, const std::vector<ChainPlace>& places) {
  const auto or_none = [](const std::string& text) { return text.empty() ? "-" : text; };
  Table table{{"address", "board", "the rig knows", "answers", "firmware", "state"}};
  for (const auto& place : places) {
    const auto& board = rig.boards[place.board];
    table.push_back({std::to_string(board.address), board.name, or_none(board.identity), or_none(place.answers), or_none(place.firmware), place.state});
  }
  std::printf("%s", aligned(table).c_str());
  std::fflush(stdout);
}

/// Whether the person at the terminal says yes; anything else, and the end of the input, is a no.
bool ask(const show::Board& board, const std::string& identity) {
  std::printf("adopt board %s at address %d with identity %s? [y/N] ", board.name.c_str(), board.address, identity.c_str());
  std::fflush(stdout);
  pollfd either[] = {{STDIN_FILENO, POLLIN, 0}, {interrupt().handle(), POLLIN, 0}};  // reading alone would sit out Ctrl-C
  ::poll(either, 2, -1);
  char text[16] = {};
  const auto size = interrupted() ? 0 : ::read(STDIN_FILENO, text, sizeof text);
  if (size <= 0) return std::printf("\n"), false;
  const std::string_view word(text, static_cast<std::size_t>(size));
  return word == "y\n" || word == "Y\n" || word == "yes\n";
}

/// One very board can't stand in two places: the rig would never be content.
std::optional<show::Finding> claimed_twice(const show::Rig& rig, const std::string& file) {
  for (const auto& board : rig.boards)
    for (const auto& other : rig.boards)
      if (&board < &other && !board.identity.empty() && board.identity == other.identity)
        return show::Finding{show::Severity::warning, file, "board " + board.name, "It would have the identity of board " + other.name + ", so nothing was written",
                             "Adopt both; or, where one of them is gone for good, take its identity out of the rig"};
  return std::nullopt;
}

show::Finding no_one_to_ask(const std::string& file) {
  return {show::Severity::warning, file, "", "There is no terminal to ask on, so nothing was adopted", "Look at the list, then run it again with --yes"};
}

show::Finding silent(const link::Status& status, const std::string& port) {
  if (status.trouble && status.trouble->severity == show::Severity::error) return *status.trouble;
  return {show::Severity::error, port, "", "No board answers", "Check the boards' supply and the cable, then try again"};
}

/// Asks for each place that differs and writes the rig. The exit code: findings where anything is left that differs.
int adopt_places(const show::Rig& rig, const std::vector<ChainPlace>& places, const AdoptWords& words, const store::Stamp& read) {
  show::Rig adopted = rig;
  int code = kFine;
  for (const auto& place : places) {
    const auto& board = rig.boards[place.board];
    if (!words.board.empty() && board.name != words.board) continue;
    if (place.answers.empty()) code = kFindings;
    if (!place.differs) continue;
    if (!words.yes && !::isatty(STDIN_FILENO)) return tell(no_one_to_ask(words.rig));
    if (words.yes || ask(board, place.answers)) adopted.boards[place.board].identity = place.answers;
    else code = kFindings;
  }
  if (interrupted()) return std::printf("nothing was written\n"), kFindings;
  if (adopted == rig) return code;
  if (const auto twice = claimed_twice(adopted, words.rig)) return tell(*twice);
  if (const auto changed = store::changed_since(words.rig, read)) return tell(*changed);  // a person was asked, which takes its time
  if (const auto problem = store::save_rig(words.rig, adopted)) return tell(*problem);
  for (const auto& place : places)
    if (const auto& board = adopted.boards[place.board]; board.identity != rig.boards[place.board].identity)
      std::printf("adopted board %s at address %d with identity %s\n", board.name.c_str(), board.address, board.identity.c_str());
  std::printf("The boards were told no limits and their outputs are silent. Limits are sent when a show or the window connects, before the head can be armed.\n");
  return code;
}

}  // namespace

int run_adopt(const AdoptWords& words) {
  interrupt();
  const store::Stamp read = store::stamp_of(words.rig);
  const auto loaded = store::load_rig(words.rig);
  if (!loaded) return tell(loaded.problem());
  const auto& rig = *loaded->rig;
  const auto named = [&](const show::Board& board) { return board.name == words.board; };
  if (!words.board.empty() && std::none_of(rig.boards.begin(), rig.boards.end(), named))
    return tell({show::Severity::error, words.rig, "--board", "The rig has no board '" + words.board + "'", "Give the name of a board as the rig spells it"});
  const auto status = greet(rig, words.port);
  if (interrupted()) return kFindings;
  if (std::none_of(status.boards.begin(), status.boards.end(), tells)) return tell(silent(status, words.port));
  const auto places = compare(rig, status);
  print_places(rig, places);
  return adopt_places(rig, places, words, read);
}

}  // namespace mien::app
