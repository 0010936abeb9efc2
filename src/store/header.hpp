// What every file of ours begins with. Inside src/store.
#pragma once
#include <new>
#include <sstream>
#include <string>

#include "store/archive.hpp"
#include "store/document.hpp"

namespace mien::store {

inline const std::string kShowFormat = "mien show";
inline const std::string kRigFormat = "mien rig";
inline const std::string kMapFormat = "mien map";
inline const std::string kLibraryFormat = "mien clips";

/// Reads one file: the scan, the archive on what the scan left, the header, then the content by its version.
class FileReader {
 public:
  FileReader(std::string_view text, const std::string& file) : text_(text), file_(file) {}

  /// content(archive, version, scanned) reads what follows the header and returns it. `newest`: the highest version that it can read.
  template <class T, class Content>
  show::Result<Document<T>> read(const std::string& format, Content content, int newest = kVersion) {
    auto scanned = scan(text_, file_);
    if (!scanned) return scanned.problem();
    try {
      std::istringstream stream(std::move(scanned->document));
      cereal::JSONInputArchive archive(stream);
      const int version = header(archive, format, newest);
      Document<T> document{content(archive, version, *scanned), {}};
      if (version < kVersion) document.notes.push_back(older(version));
      return document;
    } catch (const Broken& broken) { return finding(broken); } catch (const std::bad_alloc&) {
      throw;                                   // not the file's fault; the caller has words for it
    } catch (const std::exception& problem) {  // the scan should leave none; if it does, the file still can't be read
      return finding({"", std::string("can't be read (") + problem.what() + ")"});
    }
  }

 private:
  show::Finding finding(const Broken& broken) const {
    return {show::Severity::error, file_, broken.place, broken.what, broken.cure};
  }

  show::Finding older(int version) const {
    return {show::Severity::note, file_, "version", "was written as version " + std::to_string(version),
            "Nothing to do: the next save writes version " + std::to_string(kVersion) + "."};
  }

  static int header(cereal::JSONInputArchive& archive, const std::string& format, int newest) {
    std::string found;
    field(archive, "format", found);
    if (found != format) {
      throw Broken{"format", "is '" + shown(found) + "', not '" + format + "'", "Check that it is the file you meant."};
    }
    int version = 0;
    field(archive, "version", version);
    if (version < 0) throw Broken{"version", "is " + std::to_string(version)};
    if (version > newest) {
      throw Broken{
          "version",
          "is " + std::to_string(version) + ", from a newer Mien; this one reads up to " + std::to_string(newest),
          "Update Mien."};
    }
    return version;
  }

  std::string_view text_;
  std::string file_;
};

/// Gathers what an archive writes; whoever has bulk to write may add to `text` between two of the archive's own writes.
class TextSink : public std::streambuf {
 public:
  std::string text;

 private:
  int_type overflow(int_type c) override {
    if (!traits_type::eq_int_type(c, traits_type::eof())) text += traits_type::to_char_type(c);
    return traits_type::not_eof(c);
  }
  std::streamsize xsputn(const char* characters, std::streamsize count) override {
    text.append(characters, static_cast<std::size_t>(count));
    return count;
  }
};

inline constexpr unsigned kIndent = 2;
inline constexpr int kDecimals = 324;  ///< all that a double can have: numbers are written in their shortest exact form

/// content(archive) writes what follows the header.
template <class Content>
std::string write_file(TextSink& sink, std::string format, Content content, int version = kVersion) {
  std::ostream stream(&sink);
  {
    using Options = cereal::JSONOutputArchive::Options;
    cereal::JSONOutputArchive archive(stream, Options(kDecimals, Options::IndentChar::space, kIndent));
    field(archive, "format", format);
    field(archive, "version", version);
    content(archive);
  }
  sink.text += '\n';
  return std::move(sink.text);
}

}  // namespace mien::store
