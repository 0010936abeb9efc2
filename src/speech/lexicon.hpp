// How words sound: CMU's pronouncing dictionary with its variants, and letter-to-sound rules for words that it lacks.
#pragma once
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "show/finding.hpp"
#include "speech/alignment.hpp"
#include "speech/spelled.hpp"

namespace mien::speech {

using Pronunciation = std::vector<std::string>;  ///< of plain phones

struct Pronounced {
  std::string text;
  Origin origin = Origin::missing;
  std::vector<Pronunciation> ways;  ///< none where it is missing
};

/// The dictionary file of PocketSphinx's English model, where it is installed.
std::filesystem::path dictionary_file();

/// True where the program was built with letter-to-sound rules (flite1-dev).
bool has_rules() noexcept;

/// Stress of each vowel of a word, 0 or 1, by flite's lexicon or its rules; empty where it is not built in, or knows nothing.
std::vector<int> stresses(const std::string& word);

/// A dictionary in memory. Copies share it; it never changes, and may be read by many threads.
class Lexicon {
 public:
  /// Lines "WORD PHONE PHONE ..." and "WORD(2) ..." for variants. The finding says which package brings the file.
  static show::Result<Lexicon> load(const std::filesystem::path& file);
  static Lexicon of(std::string text);

  /// By dictionary, possessives and plurals by their stem; capitals letter by letter; then by rules; a foreign word is missing.
  Pronounced look_up(const SpokenWord& word) const;

 private:
  struct Entries;
  std::shared_ptr<const Entries> entries_;
};

}  // namespace mien::speech
