// cereal's JSON archives with places: every field is named, and whatever can't be read ends as a Broken that says where and
// why. Serialize functions use field() and list() instead of calling the archive. Inside src/store.
#pragma once
#include <cereal/archives/json.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <type_traits>
#include <utility>
#include <vector>

#include "store/scan.hpp"

namespace mien::store {

/// Thrown while an archive is read, and caught by the reader of the file.
struct Broken {
  std::string place, what;
  std::string cure = "Mend it, or take the file from a backup.";
  bool missing = false;  ///< the place is not in the file

  void is_within(const std::string& outer) {
    place = place.empty() || outer.empty() ? outer + place : outer + ", " + place;
  }
};

inline constexpr std::size_t kMostListed = 1'000'000;  ///< elements of one list

template <class T>
const char* kind_of() {
  if constexpr (std::is_same_v<T, bool>) return "true or false";
  else if constexpr (std::is_integral_v<T>) return "a whole number, or one in range";
  else if constexpr (std::is_arithmetic_v<T>) return "a number";
  else if constexpr (std::is_same_v<T, std::string>) return "a text in quotes";
  else return "a group of fields in { }";
}

/// Runs one step of reading; what the library throws becomes a Broken at `place`.
template <class Step>
void reading(const std::string& place, const char* kind, Step step) {
  try {
    step();
  } catch (Broken& broken) {
    broken.is_within(place);
    throw;
  } catch (const cereal::RapidJSONException&) {  // thrown for a value of another kind
    throw Broken{place, std::string("is not ") + kind};
  } catch (const cereal::Exception&) {  // thrown for a name that is not there
    throw Broken{place, "is missing", "Add it, as other files of this kind have it.", true};
  }
}

template <class T>
void field(cereal::JSONOutputArchive& archive, const char* name, T& value) {
  archive(cereal::make_nvp(name, value));
}

template <class T>
void field(cereal::JSONInputArchive& archive, const char* name, T& value) {
  reading(name, kind_of<T>(), [&] { archive(cereal::make_nvp(name, value)); });
}

/// A field that a file has only where it differs from what it is otherwise.
template <class T>
void field(cereal::JSONOutputArchive& archive, const char* name, T& value, const T& otherwise) {
  if (!(value == otherwise)) field(archive, name, value);
}

template <class T>
void field(cereal::JSONInputArchive& archive, const char* name, T& value, const T& otherwise) {
  static_assert(std::is_arithmetic_v<T> || std::is_same_v<T, std::string>, "a field that is missing inside a group would pass for the group itself");
  value = otherwise;
  reading(name, kind_of<T>(), [&] {
    try {
      archive(cereal::make_nvp(name, value));
    } catch (const cereal::RapidJSONException&) {
      throw;
    } catch (const cereal::Exception&) {  // thrown for a name that is not there
      archive.setNextName(nullptr);       // or the archive would look for it again
    }
  });
}

/// What findings call an element: by its name where it has one.
template <class T>
std::string label(const char* singular, const T& element, std::size_t index) {
  if constexpr (requires { element.name; }) {
    if (!element.name.empty()) return std::string(singular) + " '" + shown(element.name) + "'";
  }
  return std::string(singular) + " " + std::to_string(index + 1) + " (counted from 1)";
}

template <class T>
struct List {
  std::vector<T>& elements;
  const char* singular;
};

template <class T>
void save(cereal::JSONOutputArchive& archive, const List<T>& list) {
  archive(cereal::make_size_tag(static_cast<cereal::size_type>(list.elements.size())));
  for (T& element : list.elements) archive(element);
}

template <class T>
void load(cereal::JSONInputArchive& archive, List<T>& list) {
  cereal::size_type size = 0;
  archive(cereal::make_size_tag(size));
  if (size > kMostListed)
    throw Broken{"", "has " + std::to_string(size) + " elements, more than any show or rig",
                 "Check that it is the file you meant."};
  list.elements.resize(static_cast<std::size_t>(size));
  for (std::size_t i = 0; i < list.elements.size(); ++i) {
    T& element = list.elements[i];
    try {
      reading("", kind_of<T>(), [&] { archive(element); });
    } catch (Broken& broken) {
      broken.is_within(
          label(list.singular, element, i));  // only now, since the element has its name only if it was read so far
      throw;
    }
  }
}

/// `singular` is what a finding calls one element, "actuator"; with it the place needs no name of the list.
template <class T>
void list(cereal::JSONOutputArchive& archive, const char* name, const char* singular, std::vector<T>& elements) {
  archive(cereal::make_nvp(name, List<T>{elements, singular}));
}

template <class T>
void list(cereal::JSONInputArchive& archive, const char* name, const char* singular, std::vector<T>& elements) {
  List<T> wrapped{elements, singular};
  try {
    reading("", "a list in [ ]", [&] { archive(cereal::make_nvp(name, wrapped)); });
  } catch (Broken& broken) {
    if (broken.place.empty()) broken.place = name;
    throw;
  }
}

/// Runs one step of reading what need not be in the file; returns whether it was. Something missing inside it has a longer place.
template <class Step>
bool is_there(const char* name, Step step) {
  try {
    step();
  } catch (const Broken& broken) {
    if (broken.missing && broken.place == name) return false;
    throw;
  }
  return true;
}

/// A field that need not be there: nothing is written for nothing.
template <class T>
void optional_field(cereal::JSONOutputArchive& archive, const char* name, std::optional<T>& value) {
  if (value) field(archive, name, *value);
}

template <class T>
void optional_field(cereal::JSONInputArchive& archive, const char* name, std::optional<T>& value) {
  T read{};
  if (is_there(name, [&] { field(archive, name, read); })) value = std::move(read);
}

/// A list that need not be there: nothing is written for an empty one.
template <class T>
void optional_list(cereal::JSONOutputArchive& archive, const char* name, const char* singular, std::vector<T>& elements) {
  if (!elements.empty()) list(archive, name, singular, elements);
}

template <class T>
void optional_list(cereal::JSONInputArchive& archive, const char* name, const char* singular, std::vector<T>& elements) {
  is_there(name, [&] { list(archive, name, singular, elements); });
}

}  // namespace mien::store
