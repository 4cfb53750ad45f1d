// The straightforward way with OpenCV, for comparison: reads a photo whole, finds the markers at
// full resolution with sub-pixel corners, thresholds, and fits a line to the largest outline.
// Prints what it found, so that nobody takes an idle program for a fast one.
#include <cstdio>
#include <opencv2/aruco.hpp>
#include <opencv2/imgcodecs.hpp>
#include <opencv2/imgproc.hpp>

static int count_markers(const cv::Mat &grey)
{
    auto family = cv::aruco::getPredefinedDictionary(cv::aruco::DICT_APRILTAG_36h11);
    auto parameters = cv::makePtr<cv::aruco::DetectorParameters>();
    parameters->cornerRefinementMethod = cv::aruco::CORNER_REFINE_SUBPIX;
    std::vector<std::vector<cv::Point2f>> corners;
    std::vector<int> ids;
    cv::aruco::detectMarkers(grey, family, corners, ids, parameters);
    return (int)ids.size();
}

static cv::Vec4f line_of_largest_outline(const cv::Mat &grey)
{
    cv::Mat mask;
    cv::threshold(grey, mask, 0, 255, cv::THRESH_BINARY_INV | cv::THRESH_OTSU);
    std::vector<std::vector<cv::Point>> outlines;
    cv::findContours(mask, outlines, cv::RETR_EXTERNAL, cv::CHAIN_APPROX_NONE);
    const std::vector<cv::Point> *largest = nullptr;
    double area = -1;
    for (const auto &outline : outlines) {
        double a = cv::contourArea(outline);
        if (a > area) {
            area = a;
            largest = &outline;
        }
    }
    cv::Vec4f line(0, 0, 0, 0);
    if (largest)
        cv::fitLine(*largest, line, cv::DIST_HUBER, 0, 0.01, 0.01);
    return line;
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        std::fprintf(stderr, "usage: %s PHOTO\n", argv[0]);
        return 2;
    }
    const cv::Mat photo = cv::imread(argv[1]);
    if (photo.empty()) {
        std::fprintf(stderr, "%s cannot be read.\n", argv[1]);
        return 3;
    }
    cv::Mat grey;
    cv::cvtColor(photo, grey, cv::COLOR_BGR2GRAY);
    const int markers = count_markers(grey);
    const cv::Vec4f line = line_of_largest_outline(grey);
    std::printf("%d markers, direction %.4f %.4f\n", markers, line[0], line[1]);
    return 0;
}
