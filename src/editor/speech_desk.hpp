// What the window knows of speech: the words and phones of each sound, and the work that makes a mouth of them.
#pragma once
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "editor/job.hpp"
#include "editor/scene.hpp"
#include "speech/recording.hpp"
#include "store/recovery.hpp"
#include "talk/talk.hpp"

namespace mien::editor {

/// What a job made: a whole show, and the words and phones that go with it.
struct Talked {
  show::ShowPtr from, made;
  std::size_t sound = 0;
  std::string file;                     ///< of the sound
  std::string doing;                    ///< as undo names it
  std::shared_ptr<const speech::Recording> recording;
  std::shared_ptr<const speech::Alignment> alignment;
  show::Findings notes;
  std::optional<show::Finding> problem;
};

/// Asked for by a person: a whole line, or the surroundings of a correction.
struct TalkWanted {
  std::size_t sound = 0;
  std::string text;                                     ///< of the whole line; empty: the sound alone
  std::string language = "en";
  talk::Style style;
  std::shared_ptr<const speech::Alignment> corrected;   ///< where set, the mouth is made anew around `around`, or all of it
  std::optional<show::Range> around;                    ///< of the sound
  std::optional<std::size_t> word;                      ///< of `corrected`: aligned anew with `text`
};

/// Which alignment goes with which step of the document is kept here, so that undo takes words and phones back with the keys that were made of them.
class SpeechDesk {
 public:
  struct Known {
    std::string file;
    show::ShowPtr step;  ///< null: as it was on disk
    std::shared_ptr<const speech::Alignment> alignment;
    std::filesystem::path path;  ///< where it is saved; empty: nowhere yet
    std::shared_ptr<const std::string> text{};  ///< as the file would have it, once that was asked for
  };
  /// Of one show.
  struct Memory {
    std::vector<Known> known;
    std::map<std::string, bool> tried;  ///< files beside the show that were looked for
    std::map<std::string, std::shared_ptr<const speech::Recording>> recordings;
  };
  /// Gives away what it knows of the show on the desk, and what was being made for it up: another show comes.
  Memory put_by();
  void take_up(Memory memory);
  /// The alignments of the sounds of the show as it stands, each as of the newest step that has one, else from the file beside the show. Reads each
  /// file once.
  void follow(const Document& document);
  const std::vector<DrawnSpeech>& drawn() const noexcept { return drawn_; }
  /// nullptr where the sound has none.
  const DrawnSpeech* of(std::size_t sound) const noexcept;
  /// A correction under way, shown in place of what is so; nothing: none.
  void draft(std::optional<DrawnSpeech> draft) { draft_ = std::move(draft), dirty_ = true; }
  /// Whether the words and phones are those that the document's step has already.
  bool knows(const Document& document, const Talked& talked);
  /// The step that the document has just made of it.
  void keep(const Document& document, const Talked& talked);
  /// The steps are others, and the sounds have other names, since the show has moved to another folder: `steps` were those of `document` before.
  void renamed(const std::vector<show::ShowPtr>& steps, const Document& document);
  /// Words and phones that aren't in the files beside the show yet, as those files would have them; texts are made once each.
  std::vector<store::Beside> unsaved(const Document& document);
  /// Words and phones that a crash left, as of the step that the document is at. What can't be read is a finding.
  show::Findings recover(const Document& document, const std::vector<store::Beside>& left);
  /// Writes what isn't in the file beside the show yet; returns what kept it from that.
  std::optional<show::Finding> save(const Document& document);

  void start(const Document& document, const DrawnSound& sound, TalkWanted wanted);
  Job<Talked> job;
  Speaking speaking;
  TalkWanted wanted;  ///< the one that the job works on, for another try where the show changed meanwhile

 private:
  Known* known(const Document& document, const std::string& file);
  bool written(const Known& k, const std::filesystem::path& path) const;

  Memory memory_;
  std::vector<DrawnSpeech> drawn_;
  std::optional<DrawnSpeech> draft_;
  show::ShowPtr drawn_for_;
  bool dirty_ = true;
};

}  // namespace mien::editor
